#include "fhir/exchange/outcome.hpp"

#include <gtest/gtest.h>

#include "tests/support/published_examples.hpp"

namespace nightferry::fhir::exchange {
namespace {

std::vector<OutcomeIssue> issues_in(const std::string& members) {
    return outcome_issues(json::read(R"({"resourceType":"OperationOutcome",)" + members + "}")->root());
}

std::string words_of(const std::string& members) {
    return outcome_words(json::read(R"({"resourceType":"OperationOutcome",)" + members + "}")->root());
}

// OperationOutcome-*.json of each package.
TEST(OperationOutcomeTest, PublishedExamplesGiveTheirWords) {
    const std::map<std::string, std::string> words{
        {"101", "The code \"W\" is not known and not legal in this context (Patient.gender)"},
        {"allok", "All OK"},
        {"break-the-glass", "Additional information may be available using the Break-The-Glass Protocol"},
        {"exception", "SQL Link Communication Error (dbx = 34234)"},
        {"searchfail",
         "The \"name\" parameter has the modifier \"exact\" which is not supported by this server "
         "(http.name:exact)"},
        {"validationfail", "Error parsing resource XML (Unknown Content \"label\" (Patient.identifier)"}};
    for (const spec::Release release : spec::releases) {
        for (const auto& [name, expected] : words) {
            const std::string text = test::published_text(release, "OperationOutcome-" + name);
            EXPECT_EQ(server_words(text), expected) << spec::name_of(release);
        }
        const auto issues = outcome_issues(test::published(release, "OperationOutcome-101").root());
        ASSERT_EQ(issues.size(), 1U);
        EXPECT_EQ(issues[0].severity, "error");
        EXPECT_EQ(issues[0].code, "code-invalid");
        EXPECT_EQ(issues[0].where, "Patient.gender");
    }
}

TEST(OperationOutcomeTest, AnythingElseHasNoIssues) {
    EXPECT_TRUE(
        outcome_issues(json::read(R"({"resourceType":"Patient","issue":[{"severity":"error"}]})")->root())
            .empty());
    EXPECT_TRUE(outcome_issues(json::read("[]")->root()).empty());
    EXPECT_TRUE(issues_in(R"("id":"a")").empty());
    EXPECT_TRUE(issues_in(R"("issue":"broken")").empty());
    EXPECT_TRUE(issues_in(R"("issue":[7,null,[]])").empty());
}

TEST(OperationOutcomeTest, ALoneIssueReadsAsAListOfOne) {
    const auto issues = issues_in(R"("issue":{"severity":"error","code":"value","diagnostics":"too small"})");
    ASSERT_EQ(issues.size(), 1U);
    EXPECT_EQ(issues[0].text, "too small");
}

// https://hl7.org/fhir/R4/operationoutcome-definitions.html#OperationOutcome.issue.details
TEST(OperationOutcomeTest, TakesTheWordsFromWhereverTheyAre) {
    EXPECT_EQ(words_of(R"("issue":[{"details":{"text":"a"},"diagnostics":"b"}])"), "a");
    EXPECT_EQ(words_of(R"("issue":[{"details":{"coding":[{"display":"c"}]},"diagnostics":"b"}])"), "b");
    EXPECT_EQ(words_of(R"("issue":[{"details":{"coding":[{"system":"s"},{"code":"MSG_X","display":"c"}]}}])"),
              "c");
    EXPECT_EQ(words_of(R"("issue":[{"details":{"coding":[{"code":"MSG_X"}]}}])"), "MSG_X");
    EXPECT_EQ(words_of(R"("issue":[{"code":"required","expression":["Patient.id"]}])"),
              "required (Patient.id)");
    EXPECT_EQ(words_of(R"("issue":[{"severity":"error"}])"), "");
    EXPECT_EQ(words_of(R"("issue":[{"details":"text","diagnostics":{},"expression":"x","code":["a"]}])"), "");
}

// https://hl7.org/fhir/R4/languages.html: the translation extension.
TEST(OperationOutcomeTest, ReadsATextThatIsOnlyThereInTranslation) {
    const std::string translated =
        R"("_text":{"extension":[{"url":"http://hl7.org/fhir/StructureDefinition/translation","extension":[)"
        R"({"url":"lang","valueCode":"de"},{"url":"content","valueString":"fehlt"}]}]})";
    EXPECT_EQ(words_of(R"("issue":[{"details":{)" + translated + "}}]"), "fehlt");
    EXPECT_EQ(words_of(R"("issue":[{"details":{"text":"missing",)" + translated + "}}]"), "missing");
}

TEST(OperationOutcomeTest, ErrorsComeBeforeWarnings) {
    EXPECT_EQ(
        words_of(
            R"("issue":[{"severity":"warning","diagnostics":"w"},{"severity":"error","diagnostics":"e"},)"
            R"({"severity":"information","diagnostics":"i"},{"severity":"fatal","diagnostics":"f"}])"),
        "e; f; w; i");
}

TEST(OperationOutcomeTest, WithoutIssuesItsNarrativeSpeaks) {
    EXPECT_EQ(
        words_of(
            R"("text":{"status":"generated","div":"<div xmlns=\"x\"><p>Out of &lt;space&gt;</p></div>"})"),
        "Out of <space>");
}

TEST(OperationOutcomeTest, HugeOnesAreCut) {
    std::string many;
    for (int i = 0; i < 20'000; ++i)
        many += R"({"severity":"error","code":"value","diagnostics":"x"},)";
    const auto issues = issues_in("\"issue\":[" + many + "{}]");
    EXPECT_EQ(issues.size(), issues_max);
    EXPECT_LE(words_of("\"issue\":[" + many + "{}]").size(), 503U);
    const auto long_ones = issues_in(R"("issue":[{"diagnostics":")" + std::string(900'000, 'x') + "\"}]");
    EXPECT_EQ(long_ones.at(0).text.size(), issue_text_bytes_max);
}

}  // namespace
}  // namespace nightferry::fhir::exchange
