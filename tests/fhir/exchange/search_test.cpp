#include "fhir/exchange/search.hpp"

#include <gtest/gtest.h>

#include "tests/support/files.hpp"

namespace nightferry::fhir::exchange {
namespace {

TEST(IdentifierQueryTest, EncodesWhatAQueryWouldMisread) {
    EXPECT_EQ(identifier_query("urn:example:home", "urn:uuid:0d6f"),
              "identifier=urn:example:home%7Curn:uuid:0d6f");
    // A raw plus reads as a blank in a query (WHATWG URL, form encoding).
    EXPECT_EQ(identifier_query("s", "a+b&c=d"), "identifier=s%7Ca%2Bb%26c%3Dd");
    // https://hl7.org/fhir/R4/search.html#escaping
    EXPECT_EQ(identifier_query("s", "a,b|c$d"), "identifier=s%7Ca%5C%2Cb%5C%7Cc%5C%24d");
}

// hl7.fhir.r4.examples 4.0.1, Bundle-bundle-example.json: a match and the medicine it refers to.
TEST(SearchAnswerTest, LeavesIncludedResourcesOut) {
    const auto found = read_search_answer(
        test::source_file("tests/peers/node_modules/hl7.fhir.r4.examples/Bundle-bundle-example.json"));
    ASSERT_TRUE(found);
    ASSERT_EQ(found->size(), 1U);
    EXPECT_EQ((*found)[0].location.reference(), "MedicationRequest/3123");
}

// The same package, Bundle-bundle-search-warning.json: nothing but an outcome.
TEST(SearchAnswerTest, LeavesOutcomesOut) {
    const auto found = read_search_answer(
        test::source_file("tests/peers/node_modules/hl7.fhir.r4.examples/Bundle-bundle-search-warning.json"));
    ASSERT_TRUE(found);
    EXPECT_TRUE(found->empty());
}

TEST(SearchAnswerTest, TellsNoMatchFromNoSearchset) {
    const auto none = read_search_answer(R"({"resourceType":"Bundle","type":"searchset","total":0})");
    ASSERT_TRUE(none);
    EXPECT_TRUE(none->empty());
    EXPECT_FALSE(read_search_answer(R"({"resourceType":"OperationOutcome","issue":[]})"));
    EXPECT_FALSE(read_search_answer("nginx"));
}

TEST(SearchAnswerTest, KeepsTheVersion) {
    const auto found = read_search_answer(
        R"({"resourceType":"Bundle","type":"searchset","entry":[{"resource":{"resourceType":"Observation","id":"a",)"
        R"("meta":{"versionId":"3"}},"search":{"mode":"match"}}]})");
    ASSERT_TRUE(found);
    EXPECT_EQ(found->front().location.version, "3");
}

TEST(ReadResourceTest, WantsTypeAndId) {
    EXPECT_TRUE(read_resource(R"({"resourceType":"Patient","id":"p"})"));
    EXPECT_FALSE(read_resource(R"({"resourceType":"Patient"})"));
    EXPECT_FALSE(read_resource("{}"));
}

}  // namespace
}  // namespace nightferry::fhir::exchange
