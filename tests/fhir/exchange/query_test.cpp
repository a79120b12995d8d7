#include "fhir/exchange/query.hpp"

#include <gtest/gtest.h>

#include "fhir/exchange/percent.hpp"

namespace nightferry::fhir::exchange {
namespace {

using testing::ElementsAre;

// RFC 3986 sections 2.1 to 2.3 and 3.4.
TEST(PercentTest, EncodesAllButWhatAQueryMayHold) {
    EXPECT_EQ(percent_encoded("Az09-._~:/"), "Az09-._~:/");
    EXPECT_EQ(percent_encoded("a b+c%|&=#?"), "a%20b%2Bc%25%7C%26%3D%23%3F");
    EXPECT_EQ(percent_encoded("é"), "%C3%A9");
}

TEST(PercentTest, BrokenEscapesStayAsTheyAre) {
    EXPECT_EQ(percent_decoded("%C3%a9%7c"), "é|");
    for (const char* text : {"%", "%4", "%zz", "100%", "%%"})
        EXPECT_EQ(percent_decoded(text), text);
    EXPECT_EQ(percent_decoded("%4%41"), "%4A");
    EXPECT_EQ(percent_decoded("a+b"), "a+b");
    EXPECT_EQ(percent_decoded("a+b%2B", Plus::is_blank), "a b+");
}

TEST(IdentifierQueryTest, EncodesWhatAQueryWouldMisread) {
    EXPECT_EQ(identifier_query("urn:example:home", "urn:uuid:0d6f"),
              "identifier=urn:example:home%7Curn:uuid:0d6f");
    // A raw plus reads as a blank in a query (WHATWG URL, form encoding).
    EXPECT_EQ(identifier_query("s", "a+b&c=d"), "identifier=s%7Ca%2Bb%26c%3Dd");
    // https://hl7.org/fhir/R4/search.html#escaping
    EXPECT_EQ(identifier_query("s", "a,b|c$d"), "identifier=s%7Ca%5C%2Cb%5C%7Cc%5C%24d");
    EXPECT_EQ(identifier_query("s", R"(a\b)"), "identifier=s%7Ca%5C%5Cb");
}

TEST(QueryTest, HoldsSeveralParameters) {
    const std::string text = Query()
                                 .add_token("identifier", "urn:x", "7")
                                 .add("date", "ge2026-11-01")
                                 .add_any("status", {"completed", "not,done"})
                                 .add("_count", "50")
                                 .text();
    EXPECT_EQ(text, "identifier=urn:x%7C7&date=ge2026-11-01&status=completed,not%5C%2Cdone&_count=50");
}

TEST(QueryTest, ComesBackAsItWasBuilt) {
    const std::string nasty = R"(a,b|c$d\e +%&=?#é\,)";
    const auto parameters = read_query(Query()
                                           .add_token("identifier", nasty, nasty)
                                           .add("note", nasty)
                                           .add_any("tag", {nasty, "", "x"})
                                           .text());
    ASSERT_EQ(parameters.size(), 3U);
    EXPECT_EQ(parameters[0].name, "identifier");
    EXPECT_EQ(parameters[0].token().system, nasty);
    EXPECT_EQ(parameters[0].token().value, nasty);
    EXPECT_THAT(parameters[1].values(), ElementsAre(nasty));
    EXPECT_THAT(parameters[2].values(), ElementsAre(nasty, "", "x"));
}

// https://hl7.org/fhir/R4/search.html#token: [code], [system]|[code], |[code], [system]|
TEST(QueryTest, ATokenMayLackItsSystemOrHaveNone) {
    EXPECT_EQ(read_query("identifier=7")[0].token().system, std::nullopt);
    EXPECT_EQ(read_query("identifier=%7C7")[0].token().system, "");
    EXPECT_EQ(read_query("identifier=7")[0].token().value, "7");
    EXPECT_EQ(read_query("identifier=urn:x|")[0].token().system, "urn:x");
    EXPECT_EQ(read_query("identifier=urn:x|")[0].token().value, "");
}

// Bundle-bundle-transaction.json and -response-medsallergies.json of npm hl7.fhir.r4.examples 4.0.1:
// unencoded conditions, empty parameters, encoded dollars.
TEST(QueryTest, ReadsWhatIsPublished) {
    const auto condition = read_query("identifier=http:/example.org/fhir/ids|234234");
    ASSERT_EQ(condition.size(), 1U);
    EXPECT_EQ(condition[0].token().system, "http:/example.org/fhir/ids");
    const auto link = read_query(
        "http://local.fhir.org:960/r4/MedicationStatement?_format=application/fhir+xml&search-id=804eee4a&&"
        "patient=example&_list=%24current%2Dmedications&_sort=_id");
    ASSERT_EQ(link.size(), 5U);
    EXPECT_EQ(link[0].name, "_format");
    EXPECT_THAT(link[3].values(), ElementsAre("$current-medications"));
}

TEST(QueryTest, ReadsWithAndWithoutWhatStandsBefore) {
    EXPECT_TRUE(read_query("").empty());
    EXPECT_TRUE(read_query("?&&").empty());
    EXPECT_EQ(read_query("Patient?a=1").at(0).name, "a");
    EXPECT_EQ(read_query("url=http://x?y").at(0).values().at(0), "http://x?y");
    EXPECT_EQ(read_query("flag").at(0).name, "flag");
    EXPECT_EQ(read_query("flag").at(0).text, "");
}

TEST(QueryTest, HugeQueriesAreCut) {
    std::string huge;
    for (int i = 0; i < 100'000; ++i)
        huge += "a=1&";
    EXPECT_EQ(read_query(huge).size(), parameters_max);
}

}  // namespace
}  // namespace nightferry::fhir::exchange
