#include "fhir/exchange/search.hpp"

#include <gtest/gtest.h>

#include "fhir/json/reader.hpp"
#include "tests/support/published_examples.hpp"

namespace nightferry::fhir::exchange {
namespace {

SearchAnswer published(spec::Release release, const std::string& name) {
    auto answer = read_search_answer(test::published_text(release, name));
    EXPECT_TRUE(answer) << name;
    return answer ? std::move(*answer) : SearchAnswer();
}

SearchAnswer written(const std::string& members) {
    auto answer = read_search_answer(R"({"resourceType":"Bundle","type":"searchset")" + members + "}");
    EXPECT_TRUE(answer) << members;
    return answer ? std::move(*answer) : SearchAnswer();
}

// Bundle-bundle-example.json of each package: the first of two pages, a match and the medicine it refers to.
TEST(SearchAnswerTest, LeavesIncludedResourcesOut) {
    for (const spec::Release release : spec::releases) {
        const SearchAnswer answer = published(release, "Bundle-bundle-example");
        ASSERT_EQ(answer.matches.size(), 1U);
        EXPECT_EQ(answer.matches[0].location.reference(), "MedicationRequest/3123");
        EXPECT_EQ(answer.total, 3U);
        EXPECT_EQ(answer.next,
                  "https://example.com/base/"
                  "MedicationRequest?patient=347&searchId=ff15fd40-ff71-4b48-b366-09c706bed9d0&page=2");
        EXPECT_FALSE(answer.is_complete());
    }
}

// Bundle-bundle-search-warning.json of each package: nothing but an outcome.
TEST(SearchAnswerTest, OutcomesAreWordsNotMatches) {
    for (const spec::Release release : spec::releases) {
        const SearchAnswer answer = published(release, "Bundle-bundle-search-warning");
        EXPECT_TRUE(answer.matches.empty());
        EXPECT_EQ(answer.total, 0U);
        EXPECT_TRUE(answer.is_complete());
        ASSERT_EQ(answer.issues.size(), 1U);
        EXPECT_EQ(answer.issues[0].severity, "warning");
        EXPECT_EQ(answer.issues[0].text, "There is no matching patient for MRN 123456");
    }
}

// https://hl7.org/fhir/R5/bundle-definitions.html#Bundle.issues
TEST(SearchAnswerTest, ReadsTheIssuesOfR5) {
    const SearchAnswer answer = written(
        R"(,"issues":{"resourceType":"OperationOutcome","issue":[{"severity":"warning","code":"limited-filter"}]})");
    EXPECT_EQ(answer.issues.at(0).code, "limited-filter");
}

// A server that leaves out search.mode still cannot have searched for outcomes.
TEST(SearchAnswerTest, AnOutcomeWithoutAModeIsNoMatch) {
    const SearchAnswer answer = written(
        R"(,"entry":[{"resource":{"resourceType":"OperationOutcome","id":"o","issue":[{"severity":"error",)"
        R"("code":"not-supported","diagnostics":"unknown parameter"}]}},)"
        R"({"resource":{"resourceType":"Observation","id":"a"}}])");
    ASSERT_EQ(answer.matches.size(), 1U);
    EXPECT_EQ(answer.matches[0].location.id, "a");
    EXPECT_EQ(answer.issues.at(0).text, "unknown parameter");
}

TEST(SearchAnswerTest, TellsNoMatchFromNoSearchset) {
    EXPECT_TRUE(written(R"(,"total":0)").matches.empty());
    EXPECT_TRUE(written(R"(,"total":0)").is_complete());
    EXPECT_TRUE(written("").is_complete());
    EXPECT_FALSE(read_search_answer(R"({"resourceType":"OperationOutcome","issue":[]})"));
    EXPECT_FALSE(read_search_answer(R"({"resourceType":"Bundle","type":"batch-response"})"));
    EXPECT_FALSE(read_search_answer("nginx"));
}

// https://hl7.org/fhir/R4/search.html#summary: _summary=count gives a total and no entries.
TEST(SearchAnswerTest, ATotalWithoutEntriesIsNotComplete) {
    const SearchAnswer answer = written(R"(,"total":2)");
    EXPECT_TRUE(answer.matches.empty());
    EXPECT_EQ(answer.total, 2U);
    EXPECT_FALSE(answer.is_complete());
}

TEST(SearchAnswerTest, MisshapenPartsReadAsAbsent) {
    const SearchAnswer answer = written(
        R"(,"total":"many","link":{"relation":"next","url":"?page=2"},"entry":[null,7,{"resource":[]},)"
        R"({"resource":{"resourceType":"Observation"}},{"resource":{"resourceType":"Observation","id":7}},)"
        R"({"resource":{"resourceType":"Observation","id":"../Patient/1"}}])");
    EXPECT_EQ(answer.total, std::nullopt);
    EXPECT_EQ(answer.next, "?page=2");
    EXPECT_TRUE(answer.matches.empty());
    for (const char* total : {"-1", "1.5", "1e9", "99999999999999999999"})
        EXPECT_EQ(written(",\"total\":" + std::string(total)).total, std::nullopt) << total;
}

TEST(SearchAnswerTest, KeepsTheVersion) {
    const SearchAnswer answer =
        written(R"(,"entry":[{"resource":{"resourceType":"Observation","id":"a","meta":{"versionId":"3"}},)"
                R"("search":{"mode":"match"}}])");
    EXPECT_EQ(answer.matches.at(0).location.version, "3");
    EXPECT_EQ(answer.matches.at(0).resource->find("meta")->string_at("versionId"), "3");
}

TEST(BearsIdentifierTest, ComparesSystemAndValueExactly) {
    const auto document = json::read(
        R"({"resourceType":"Patient","identifier":[{"system":"urn:x","value":"7"},{"value":"8"}]})");
    const json::Value& patient = document->root();
    EXPECT_TRUE(bears_identifier(patient, "urn:x", "7"));
    EXPECT_TRUE(bears_identifier(patient, "", "8"));
    EXPECT_FALSE(bears_identifier(patient, "urn:X", "7"));
    EXPECT_FALSE(bears_identifier(patient, "urn:x", "8"));
    EXPECT_FALSE(bears_identifier(json::Document(json::Kind::array).root(), "urn:x", "7"));
}

}  // namespace
}  // namespace nightferry::fhir::exchange
