#include "fhir/exchange/outcome.hpp"

#include <gtest/gtest.h>

#include "fhir/json/reader.hpp"
#include "tests/support/files.hpp"

namespace nightferry::fhir::exchange {
namespace {

std::string published(const std::string& name) {
    return test::source_file("tests/peers/node_modules/hl7.fhir.r4.examples/" + name);
}

// hl7.fhir.r4.examples 4.0.1: details.text with an expression, and diagnostics only.
TEST(OperationOutcomeTest, PublishedExamplesGiveTheirWords) {
    const auto validation = json::read(published("OperationOutcome-validationfail.json"));
    const auto issues = outcome_issues(validation->root());
    ASSERT_EQ(issues.size(), 1U);
    EXPECT_EQ(issues[0].severity, "error");
    EXPECT_EQ(issues[0].code, "structure");
    EXPECT_EQ(issues[0].where, "Patient.identifier");
    EXPECT_NE(server_words(published("OperationOutcome-validationfail.json")).find("(Patient.identifier)"),
              std::string::npos);
    EXPECT_FALSE(server_words(published("OperationOutcome-exception.json")).empty());
}

TEST(OperationOutcomeTest, AnythingElseHasNoIssues) {
    const auto patient = json::read(R"({"resourceType":"Patient","issue":[{"severity":"error"}]})");
    EXPECT_TRUE(outcome_issues(patient->root()).empty());
}

TEST(ServerWordsTest, FallBackToTheStartOfAnotherBody) {
    EXPECT_EQ(server_words("<html>\n  <h1>502\tBad Gateway</h1>"), "<html> <h1>502 Bad Gateway</h1>");
    EXPECT_EQ(server_words(""), "");
}

TEST(ServerWordsTest, AreCutAtACharacterBoundary) {
    const std::string words = server_words("\xC3\xA9\xC3\xA9\xC3\xA9\xC3\xA9", 5);
    EXPECT_EQ(words, "\xC3\xA9\xC3\xA9…");
}

TEST(ServerWordsTest, JoinSeveralIssues) {
    EXPECT_EQ(
        server_words(R"({"resourceType":"OperationOutcome","issue":[{"severity":"error","code":"required",)"
                     R"("diagnostics":"one"},{"severity":"error","code":"value"}]})"),
        "one; value");
}

}  // namespace
}  // namespace nightferry::fhir::exchange
