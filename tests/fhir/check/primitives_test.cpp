// Sources: https://hl7.org/fhir/R4/datatypes.html#primitive and
// https://hl7.org/fhir/R5/datatypes.html#primitive, with the expressions of the StructureDefinitions in the
// npm packages hl7.fhir.r4.examples 4.0.1 and hl7.fhir.r5.examples 5.0.0 where a check says so.
#include "fhir/check/primitives.hpp"

#include <gtest/gtest.h>

namespace nightferry::fhir::check {
namespace {

using spec::Form;
using spec::Release;
using Texts = std::initializer_list<std::string_view>;

void expect_right(Form form, Texts texts,
                  std::vector<Release> releases = {Release::r4, Release::r4b, Release::r5}) {
    for (const Release release : releases) {
        for (const std::string_view text : texts)
            EXPECT_EQ(wrong_form(form, text, release), "") << name_of(release) << ' ' << text;
    }
}

void expect_wrong(Form form, Texts texts,
                  std::vector<Release> releases = {Release::r4, Release::r4b, Release::r5}) {
    for (const Release release : releases) {
        for (const std::string_view text : texts)
            EXPECT_NE(wrong_form(form, text, release), "") << name_of(release) << ' ' << text;
    }
}

// https://hl7.org/fhir/R4/datatypes.html#date; which years leap:
// https://www.rfc-editor.org/rfc/rfc3339#appendix-C
TEST(PrimitivesTest, DateIsADayThatExists) {
    expect_right(Form::date, {"2026-10-12", "2024-02-29", "2000-02-29", "0001-01-01", "9999-12-31",
                              "2026-04-30", "2026-12-31"});
    expect_wrong(Form::date, {"2026-02-30", "2023-02-29", "1900-02-29", "2100-02-29", "2026-04-31",
                              "2026-13-01", "2026-00-10", "2026-01-00", "2026-01-32", "0000-01-01"});
}

TEST(PrimitivesTest, DateMayLackDayOrMonth) {
    expect_right(Form::date, {"2026", "2026-10", "0001", "9999-12"});
    expect_wrong(Form::date,
                 {"0000", "2026-", "2026-1", "2026-10-", "2026-10-1", "26", "026", "20261", "2026-13",
                  "2026-00", "2026/10/12", "20261012", " 2026", "2026 ", "-2026", "+2026", "2026-10-12x"});
}

TEST(PrimitivesTest, DateHasNoTime) {
    expect_wrong(Form::date, {"2026-10-12T08:00:00Z", "2026-10-12T", "2026-10-12Z", "2026Z"});
}

// https://hl7.org/fhir/R4/datatypes.html#dateTime: with a time, seconds and a zone have to be there; 24:00
// must not be used; leap seconds may.
TEST(PrimitivesTest, DateTimeIsADateOrHasSecondsAndZone) {
    expect_right(Form::date_time,
                 {"2026", "2026-10", "2026-10-12", "2026-10-12T00:00:00Z", "2026-10-12T23:59:59Z",
                  "2016-12-31T23:59:60Z", "2026-10-12T08:00:00+02:00", "2024-02-29T08:00:00-05:30"});
    expect_wrong(Form::date_time,
                 {"2026-10-12T08:00Z", "2026-10-12T08Z", "2026-10-12T08:00:00", "2026-10-12T08:00",
                  "2026-10-12 08:00:00Z", "2026-10-12t08:00:00Z", "2026-10T08:00:00Z", "2026T08:00:00Z",
                  "2026-10-12Z", "2026-02-30T08:00:00Z", "0000-01-01T08:00:00Z", "2026-10-12T8:00:00Z",
                  "2026-10-12T08:00:00Z ", "2026-10-12T08:00:00ZZ"});
}

TEST(PrimitivesTest, TimeOfDayEndsBeforeTwentyFour) {
    for (const Form form : {Form::date_time, Form::instant}) {
        expect_wrong(form, {"2026-10-12T24:00:00Z", "2026-10-12T24:00:01Z", "2026-10-12T25:00:00Z",
                            "2026-10-12T08:60:00Z", "2026-10-12T08:00:61Z", "2026-10-12T08:00:99Z"});
    }
}

TEST(PrimitivesTest, ZoneIsZOrAtMostFourteenHours) {
    for (const Form form : {Form::date_time, Form::instant}) {
        expect_right(form, {"2026-10-12T08:00:00Z", "2026-10-12T08:00:00+00:00", "2026-10-12T08:00:00-00:00",
                            "2026-10-12T08:00:00+13:59", "2026-10-12T08:00:00+14:00",
                            "2026-10-12T08:00:00-12:00", "2026-10-12T08:00:00-14:00"});
        expect_wrong(form,
                     {"2026-10-12T08:00:00z", "2026-10-12T08:00:00+14:01", "2026-10-12T08:00:00+15:00",
                      "2026-10-12T08:00:00-14:30", "2026-10-12T08:00:00+0200", "2026-10-12T08:00:00+02",
                      "2026-10-12T08:00:00+2:00", "2026-10-12T08:00:00+02:60", "2026-10-12T08:00:00 +02:00",
                      "2026-10-12T08:00:00+", "2026-10-12T08:00:00Z+02:00", "2026-10-12T08:00:00UTC"});
    }
}

// The expressions end the fraction at nine digits in hl7.fhir.r5.examples 5.0.0, and nowhere in R4.
TEST(PrimitivesTest, FractionOfASecondHasNineDigitsInR5AndAnyNumberBefore) {
    for (const Form form : {Form::date_time, Form::instant}) {
        expect_right(form, {"2026-10-12T08:00:00.0Z", "2026-10-12T08:00:00.123456789+02:00"});
        expect_right(form, {"2026-10-12T08:00:00.1234567890Z"}, {Release::r4, Release::r4b});
        expect_wrong(form, {"2026-10-12T08:00:00.1234567890Z"}, {Release::r5});
        expect_wrong(form, {"2026-10-12T08:00:00.Z", "2026-10-12T08:00:00,5Z", "2026-10-12T08:00.5Z"});
    }
    expect_right(Form::time, {"08:00:00.5", "08:00:00.123456789"});
    expect_right(Form::time, {"08:00:00.1234567890"}, {Release::r4, Release::r4b});
    expect_wrong(Form::time, {"08:00:00.1234567890"}, {Release::r5});
}

TEST(PrimitivesTest, InstantHasEveryPart) {
    expect_right(Form::instant,
                 {"2026-10-12T08:00:00Z", "2016-12-31T23:59:60Z", "2026-10-12T08:00:00.250+02:00"});
    expect_wrong(Form::instant,
                 {"2026", "2026-10", "2026-10-12", "2026-10-12T08:00Z", "2026-10-12T08:00:00"});
}

TEST(PrimitivesTest, TimeHasSecondsAndNoZone) {
    expect_right(Form::time, {"00:00:00", "23:59:59", "23:59:60"});
    expect_wrong(Form::time, {"24:00:00", "08:60:00", "08:00:61", "08:00", "8:00:00", "08:00:00Z",
                              "08:00:00+02:00", "T08:00:00", "08:00:00."});
}

TEST(PrimitivesTest, IntegerHasThirtyTwoBits) {
    expect_right(Form::integer, {"0", "1", "-1", "2147483647", "-2147483648"});
    expect_wrong(Form::integer,
                 {"2147483648", "-2147483649", "99999999999999999999", "1.0", "0.5", "1e3", "1E0"});
}

// -?([0]|([1-9][0-9]*)) in R4, [0]|[-+]?[1-9][0-9]* in R5.
TEST(PrimitivesTest, MinusZeroIsAnIntegerInR4Only) {
    expect_right(Form::integer, {"-0"}, {Release::r4, Release::r4b});
    expect_wrong(Form::integer, {"-0"}, {Release::r5});
}

TEST(PrimitivesTest, UnsignedAndPositiveIntegersEndAtTheSameTop) {
    expect_right(Form::unsigned_int, {"0", "1", "2147483647"});
    expect_wrong(Form::unsigned_int, {"-1", "-0", "2147483648", "1.0", "1e1"});
    expect_right(Form::positive_int, {"1", "2147483647"});
    expect_wrong(Form::positive_int, {"0", "-0", "-1", "2147483648", "1.0"});
}

// https://hl7.org/fhir/R5/datatypes.html#integer64: a text in JSON, hence with spellings that JSON's numbers
// lack.
TEST(PrimitivesTest, Integer64IsATextOfSixtyFourBits) {
    expect_right(Form::integer64, {"0", "-1", "9223372036854775807", "-9223372036854775808"}, {Release::r5});
    expect_wrong(Form::integer64,
                 {"9223372036854775808", "-9223372036854775809", "00", "01", "-01", "-0", "1.0", "1e3", " 1",
                  "1 ", "-", "--1", "0x10", "one"},
                 {Release::r5});
}

// https://hl7.org/fhir/R4/json.html#decimal: whatever JSON can write, of any precision.
TEST(PrimitivesTest, DecimalIsAnyNumberOfJson) {
    expect_right(Form::decimal, {"0", "-0", "0.0", "1.00", "1e3", "1E-22",
                                 "-0.000000000000000000000000000001", "123456789012345678901234567890"});
}

TEST(PrimitivesTest, IdHasAtMostSixtyFourPlainCharacters) {
    const std::string longest(64, 'a');
    expect_right(Form::id, {"a", "-", ".", "A-Z.0-9", "8c2f5f0a-6f9c-4e2b-9f5e-3a1d2b4c5e6f", longest});
    expect_wrong(Form::id, {longest + "a", "a_b", "a b", " a", "a/b", "a#", "\xC3\xA4", "a\n"});
}

// [^\s]+(\s[^\s]+)* in R4, with a space in place of \s in R5; https://hl7.org/fhir/R4/datatypes.html#code.
TEST(PrimitivesTest, CodeHasSingleBlanksWithinOnly) {
    expect_right(Form::code, {"a", "in-progress", "a b", "a b c", "[iU]", "%", "\xC3\xA4"});
    expect_wrong(Form::code, {" a", "a ", "a  b", "\ta", "a\n", " ", "a \tb"});
    expect_right(Form::code, {"a\tb", "a\nb"}, {Release::r4, Release::r4b});
    expect_wrong(Form::code, {"a\tb", "a\nb"}, {Release::r5});
}

// CodeSystem v2-0550 of hl7.fhir.r4.examples 4.0.1 has codes that end in one.
TEST(PrimitivesTest, BlankBeyondAsciiIsACharacterLikeOthers) {
    for (const Form form : {Form::code, Form::uri, Form::url, Form::canonical}) {
        expect_right(form, {"a\xC2\xA0"
                            "b",
                            "a\xC2\xA0", "\xE2\x80\x89",
                            "\xE3\x80\x80"
                            "a"});
    }
}

TEST(PrimitivesTest, UriHasNoBlank) {
    for (const Form form : {Form::uri, Form::url, Form::canonical}) {
        expect_right(form, {"http://example.org/a?b=c#d", "urn:oid:1.2.3", "urn:uuid:1", "Patient/1", "#a",
                            "a|1.0", "http:/example.org", "\xC3\xA4"});
        expect_wrong(form, {"http://example.org/a b", " http://example.org", "http://example.org ", "a\tb",
                            "a\nb", " "});
    }
}

TEST(PrimitivesTest, OidHasArcsWithoutLeadingZeros) {
    expect_right(Form::oid, {"urn:oid:1.2.3", "urn:oid:0.0", "urn:oid:2.16.840.1.113883.6.1",
                             "urn:oid:2.999999999999999999999999"});
    expect_wrong(Form::oid, {"1.2.3", "urn:oid:", "urn:oid:1", "urn:oid:3.1", "urn:oid:1.", "urn:oid:1..2",
                             "urn:oid:1.02", "urn:oid:10.2", "urn:oid:.1", "URN:OID:1.2", "urn:oid:1.2a",
                             "urn:oid:1.2 "});
}

TEST(PrimitivesTest, UuidIsInLowerCase) {
    expect_right(Form::uuid, {"urn:uuid:c757873d-ec9a-4326-a141-556f43239520",
                              "urn:uuid:00000000-0000-0000-0000-000000000000"});
    expect_wrong(
        Form::uuid,
        {"c757873d-ec9a-4326-a141-556f43239520", "urn:uuid:C757873D-EC9A-4326-A141-556F43239520",
         "urn:uuid:c757873dec9a4326a141556f43239520", "urn:uuid:c757873d-ec9a-4326-a141-556f4323952",
         "urn:uuid:c757873d-ec9a-4326-a141-556f432395200", "urn:uuid:c757873d-ec9a-4326-a141_556f43239520",
         "urn:uuid:g757873d-ec9a-4326-a141-556f43239520", "urn:uuid:"});
}

// https://www.rfc-editor.org/rfc/rfc4648#section-4; R4's expression has white space between groups of four.
TEST(PrimitivesTest, Base64IsPaddedToGroupsOfFour) {
    expect_right(Form::base64_binary,
                 {"QQ==", "QUI=", "QUJD", "QUJDRA==", "+/+/", "QUJD\nREVG", " QUJD REVG "});
    expect_wrong(Form::base64_binary, {"Q", "QQ", "QUI", "QUJDR", "QQ=", "Q===", "====", "=QQ=", "QQ==QUJD",
                                       "Q=Q=", "QU-_", "QU*D", " ", "QUJD="});
}

// https://hl7.org/fhir/R4/datatypes.html#string: at most 1024*1024 characters, which may be more bytes.
TEST(PrimitivesTest, LengthOfATextCountsCharacters) {
    constexpr std::size_t most = 1024 * 1024;
    std::string wide;
    for (std::size_t i = 0; i < most; ++i)
        wide += "\xC3\xA4";
    for (const Form form : {Form::string, Form::markdown}) {
        EXPECT_EQ(wrong_form(form, std::string(most, 'a'), Release::r4), "");
        EXPECT_NE(wrong_form(form, std::string(most + 1, 'a'), Release::r4), "");
        EXPECT_EQ(wrong_form(form, wide, Release::r4), "");
        EXPECT_NE(wrong_form(form, wide + "a", Release::r4), "");
    }
}

TEST(PrimitivesTest, TextMayHaveBlanksAnywhere) {
    for (const Form form : {Form::string, Form::markdown})
        expect_right(form, {" a ", "a\n\n b", "\t", "\xF0\x9F\x92\x89"});
}

TEST(PrimitivesTest, OtherKindsOfValuesHaveNoForm) {
    for (const Form form : {Form::boolean, Form::object, Form::any_resource, Form::xhtml})
        expect_right(form, {"", "anything"});
}

}  // namespace
}  // namespace nightferry::fhir::check
