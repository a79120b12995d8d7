#include "fhir/exchange/issue_class.hpp"

#include <gtest/gtest.h>

#include "tests/support/published_examples.hpp"

namespace nightferry::fhir::exchange {
namespace {

using Table = std::map<std::string, IssueClass>;

// Every code of a published code system gets the class of its topmost ancestor, which this table gives.
void collect(Table& expected, const json::Value& parent, std::optional<IssueClass> inherited) {
    const Table of_roots{{"invalid", IssueClass::final},      {"security", IssueClass::access},
                         {"processing", IssueClass::final},   {"transient", IssueClass::transient},
                         {"informational", IssueClass::note}, {"success", IssueClass::note}};
    for (const json::Value& one : parent.items_at("concept")) {
        const std::string code(one.string_at("code"));
        ASSERT_TRUE(inherited || of_roots.contains(code)) << code;
        expected[code] = inherited ? *inherited : of_roots.at(code);
        collect(expected, one, expected[code]);
    }
}

// CodeSystem-issue-type.json of each package. `duplicate` is the one code that is set apart from its parent.
TEST(IssueClassTest, FollowsThePublishedHierarchyOfEachRelease) {
    const std::map<spec::Release, std::size_t> codes{
        {spec::Release::r4, 31}, {spec::Release::r4b, 31}, {spec::Release::r5, 33}};
    for (const spec::Release release : spec::releases) {
        Table expected;
        collect(expected, test::published(release, "CodeSystem-issue-type").root(), std::nullopt);
        EXPECT_EQ(expected.size(), codes.at(release));
        expected["duplicate"] = IssueClass::duplicate;
        for (const auto& [code, expected_class] : expected)
            EXPECT_EQ(class_of_issue_type(code), expected_class) << code;
    }
}

TEST(IssueClassTest, OtherCodesAreUnknown) {
    for (const char* code : {"", "Invalid", "http-404", "error"})
        EXPECT_EQ(class_of_issue_type(code), IssueClass::unknown) << code;
}

// https://hl7.org/fhir/R4/valueset-issue-severity.html: only fatal and error mean failure.
TEST(IssueClassTest, WhatIsNoErrorIsANote) {
    for (const char* severity : {"warning", "information", "success"})
        EXPECT_EQ(class_of(OutcomeIssue{severity, "not-found", {}, {}}), IssueClass::note) << severity;
    for (const char* severity : {"fatal", "error", ""})
        EXPECT_EQ(class_of(OutcomeIssue{severity, "throttled", {}, {}}), IssueClass::transient) << severity;
}

TEST(IssueClassTest, OfSeveralTheGravestCounts) {
    const OutcomeIssue hint{"warning", "business-rule", {}, {}};
    const OutcomeIssue duplicate{"error", "duplicate", {}, {}};
    const OutcomeIssue busy{"error", "timeout", {}, {}};
    const OutcomeIssue wrong{"error", "value", {}, {}};
    const OutcomeIssue locked_out{"error", "expired", {}, {}};
    EXPECT_EQ(class_of(std::vector{hint}), IssueClass::note);
    EXPECT_EQ(class_of(std::vector{hint, duplicate}), IssueClass::duplicate);
    EXPECT_EQ(class_of(std::vector{busy, duplicate}), IssueClass::transient);
    EXPECT_EQ(class_of(std::vector{locked_out, busy}), IssueClass::access);
    EXPECT_EQ(class_of(std::vector{busy, wrong, hint}), IssueClass::final);
    EXPECT_EQ(class_of(std::vector<OutcomeIssue>()), IssueClass::unknown);
}

// OperationOutcome-exception and -searchfail of each package.
TEST(IssueClassTest, PublishedOutcomesAreClassed) {
    for (const spec::Release release : spec::releases) {
        const auto class_of_published = [&](const std::string& name) {
            return class_of(outcome_issues(test::published(release, "OperationOutcome-" + name).root()));
        };
        EXPECT_EQ(class_of_published("exception"), IssueClass::transient);
        EXPECT_EQ(class_of_published("searchfail"), IssueClass::final);
        EXPECT_EQ(class_of_published("validationfail"), IssueClass::final);
        EXPECT_EQ(class_of_published("allok"), IssueClass::note);
        EXPECT_EQ(class_of_published("break-the-glass"), IssueClass::note);
    }
}

}  // namespace
}  // namespace nightferry::fhir::exchange
