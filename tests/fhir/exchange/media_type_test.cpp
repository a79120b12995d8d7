#include "fhir/exchange/media_type.hpp"

#include <gtest/gtest.h>

#include "fhir/exchange/prefer.hpp"

namespace nightferry::fhir::exchange {
namespace {

using Format = MediaType::Format;
using spec::Release;

// https://hl7.org/fhir/R4/http.html#version-parameter: 4.0;
// https://hl7.org/fhir/R5/http.html#version-parameter: 4.3 and 5.0.
TEST(MediaTypeTest, NamesTheReleaseByItsFirstTwoNumbers) {
    EXPECT_EQ(fhir_json(Release::r4), "application/fhir+json; fhirVersion=4.0");
    EXPECT_EQ(fhir_json(Release::r4b), "application/fhir+json; fhirVersion=4.3");
    EXPECT_EQ(fhir_json(Release::r5), "application/fhir+json; fhirVersion=5.0");
    for (const Release release : spec::releases) {
        EXPECT_EQ(read_media_type(fhir_json(release)).release, release);
        EXPECT_EQ(read_media_type(fhir_json(release)).format, Format::fhir_json);
    }
}

// RFC 9110 section 8.3.1: names compare without case, values may be quoted, blanks may stand around ";".
TEST(MediaTypeTest, ReadsParametersInAnyDress) {
    for (const char* header : {"application/fhir+json;charset=UTF-8;fhirVersion=4.0",
                               "Application/FHIR+JSON ; Charset=\"utf-8\" ; FHIRVERSION=\"4.0\"",
                               " application/fhir+json; q=\"a;b,c\"; fhirversion=4.0; charset=Utf-8 ",
                               "application/fhir+json;;charset=utf-8; fhirVersion=4.0;"}) {
        const MediaType type = read_media_type(header);
        EXPECT_EQ(type.name, "application/fhir+json") << header;
        EXPECT_EQ(type.format, Format::fhir_json) << header;
        EXPECT_EQ(type.charset, "utf-8") << header;
        EXPECT_EQ(type.fhir_version, "4.0") << header;
        EXPECT_EQ(type.release, Release::r4) << header;
    }
}

// application/json+fhir was the name before STU3 (https://hl7.org/fhir/R4/http.html#mime-type).
TEST(MediaTypeTest, TellsFormatsApart) {
    const std::vector<std::pair<const char*, Format>> formats{{"application/fhir+json", Format::fhir_json},
                                                              {"application/json+fhir", Format::fhir_json},
                                                              {"application/json", Format::json},
                                                              {"text/json", Format::json},
                                                              {"application/problem+json", Format::json},
                                                              {"application/fhir+xml", Format::fhir_xml},
                                                              {"application/xml+fhir", Format::fhir_xml},
                                                              {"application/xml", Format::xml},
                                                              {"text/xml", Format::xml},
                                                              {"text/html; charset=iso-8859-1", Format::html},
                                                              {"application/xhtml+xml", Format::html},
                                                              {"text/plain", Format::text},
                                                              {"application/octet-stream", Format::other},
                                                              {"", Format::none},
                                                              {"json", Format::none},
                                                              {"; charset=utf-8", Format::none}};
    for (const auto& [header, format] : formats)
        EXPECT_EQ(read_media_type(header).format, format) << header;
}

TEST(MediaTypeTest, OnlyJsonOrSilencePromisesFhir) {
    for (const char* header : {"application/fhir+json", "application/json+fhir", "application/json", ""})
        EXPECT_TRUE(read_media_type(header).may_be_fhir_json()) << header;
    for (const char* header : {"application/fhir+xml", "text/html", "text/plain", "image/png"})
        EXPECT_FALSE(read_media_type(header).may_be_fhir_json()) << header;
}

TEST(MediaTypeTest, OfSeveralTheFirstCounts) {
    EXPECT_EQ(read_media_type("application/fhir+json; fhirVersion=4.3, text/html").release, Release::r4b);
    EXPECT_EQ(read_media_type("text/html, application/fhir+json").format, Format::html);
}

TEST(MediaTypeTest, GarbageIsHarmless) {
    EXPECT_EQ(read_media_type(std::string(1'000'000, ';')).format, Format::none);
    EXPECT_EQ(read_media_type("a/b; c=\"never closed").format, Format::other);
    EXPECT_EQ(read_media_type("application/fhir+json; fhirVersion=3.0").release, std::nullopt);
    EXPECT_EQ(read_media_type("application/fhir+json; fhirVersion=\"\\").fhir_version, "\\");
}

// https://hl7.org/fhir/R4/http.html#prefer
TEST(PreferTest, AsksForOneOfThreeReturns) {
    EXPECT_EQ(prefer(Return::minimal), "return=minimal");
    EXPECT_EQ(prefer(Return::representation), "return=representation");
    EXPECT_EQ(prefer(Return::operation_outcome), "return=OperationOutcome");
}

}  // namespace
}  // namespace nightferry::fhir::exchange
