// Resources that break one known rule each, made mechanically from the published examples of three releases
// by a program that reads the definitions itself (tests/peers/validators/mutants.mjs): every one is reported,
// with that rule at that place and with nothing else; and what was only made to look odd is not.
#include <gtest/gtest.h>

#include <fstream>
#include <map>
#include <set>

#include "fhir/check/validator.hpp"
#include "fhir/json/reader.hpp"
#include "tests/support/published_examples.hpp"

namespace nightferry::fhir::check {
namespace {

struct Mutant {
    std::string release;
    std::string source;
    std::string operation;
    std::string rule;  // Empty when the resource is valid.
    std::string expression;
    std::string text;
};

Mutant mutant_in(const json::Value& line) {
    const auto text = [&](std::string_view name) { return std::string(line.string_at(name)); };
    return {text("release"), text("source"),     text("operator"),
            text("rule"),    text("expression"), text("text")};
}

spec::Release release_named(std::string_view name) {
    for (const spec::Release release : spec::releases) {
        if (spec::name_of(release) == name) return release;
    }
    ADD_FAILURE() << "no release " << name;
    return spec::Release::r4;
}

std::string words_for(const Issue& issue) {
    return std::string(issue.rule.key) + " at " + issue.expression;
}

// What is wrong with the report, or nothing.
std::string complaint(const Mutant& mutant) {
    const auto document = json::read(mutant.text, test::example_limits);
    if (!document) return "is no JSON: " + document.error().message;
    Options options;
    options.warnings = false;
    const Report report = validate(document->root(), release_named(mutant.release), options);
    if (mutant.rule.empty()) return report.valid() ? "" : "is valid, yet " + words_for(report.issues.front());
    bool found = false;
    for (const Issue& issue : report.issues) {
        if (issue.rule.key != mutant.rule) return "has also " + words_for(issue);
        found = found || mutant.expression.empty() || issue.expression == mutant.expression;
    }
    if (found) return {};
    return report.issues.empty() ? "is not found" : "is found as " + words_for(report.issues.front());
}

class MutantsTest : public testing::Test {
 protected:
    void SetUp() override {
        std::ifstream lines(std::filesystem::path(NIGHTFERRY_BINARY_DIR) / "mutants.ndjson");
        for (std::string line; std::getline(lines, line);) {
            const auto document = json::read(line, test::example_limits);
            ASSERT_TRUE(document) << document.error().message;
            judge(mutant_in(document->root()));
        }
    }

    std::map<std::string, std::string> complaints_;  // One for each release, operator and kind.
    std::map<std::string, std::size_t> broken_;      // Mutants by rule.
    std::set<std::string> operators_;
    std::size_t kept_valid_ = 0;

 private:
    void judge(const Mutant& mutant) {
        if (mutant.rule.empty()) {
            ++kept_valid_;
        } else {
            ++broken_[mutant.rule];
            operators_.insert(mutant.operation);
        }
        const std::string words = complaint(mutant);
        if (words.empty()) return;
        const std::string key =
            mutant.release + ' ' + mutant.operation + ": " + words.substr(0, words.find(" at "));
        complaints_.emplace(key,
                            mutant.source + ", " + mutant.rule + " at " + mutant.expression + ' ' + words);
    }
};

TEST_F(MutantsTest, EveryBrokenRuleIsReportedAtItsPlaceAndNothingElseIs) {
    for (const auto& [key, example] : complaints_)
        ADD_FAILURE() << key << "\n    like " << example;
    std::size_t broken = 0;
    for (const auto& [rule, count] : broken_)
        broken += count;
    EXPECT_GE(broken, 20'000U);
    EXPECT_GE(operators_.size(), 40U);
    EXPECT_GE(kept_valid_, 2'000U);
    std::cout << broken << " broken resources by " << operators_.size() << " operators, " << kept_valid_
              << " valid ones\n";
    for (const auto& [rule, count] : broken_)
        std::cout << "  " << rule << ' ' << count << '\n';
}

}  // namespace
}  // namespace nightferry::fhir::check
