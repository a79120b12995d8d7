// Every official example of R4, R4B and R5 (npm packages hl7.fhir.r4.examples 4.0.1, hl7.fhir.r4b.examples
// 4.3.0, hl7.fhir.r5.examples 5.0.0) is valid, but for those that invalid_examples.tsv names with the rule
// they break and why that is right.
#include <gtest/gtest.h>

#include <set>

#include "fhir/check/validator.hpp"
#include "fhir/json/reader.hpp"
#include "tests/support/files.hpp"
#include "tests/support/published_examples.hpp"

namespace nightferry::fhir::check {
namespace {

using spec::Release;

// "file rule first-place" of every rule that a file breaks.
using Breaches = std::set<std::string>;

Breaches known_breaches(Release release) {
    Breaches known;
    std::istringstream rows(test::source_file("tests/conformance/invalid_examples.tsv"));
    for (std::string row; std::getline(rows, row);) {
        std::istringstream cells(row);
        std::string name, file, rule, place, why;
        for (std::string* cell : {&name, &file, &rule, &place, &why})
            std::getline(cells, *cell, '\t');
        if (name != spec::name_of(release)) continue;
        EXPECT_FALSE(why.empty()) << row;
        known.insert(file + ' ' + rule + ' ' + place);
    }
    return known;
}

void add_breaches(const test::Example& example, Release release, Breaches& found) {
    const auto document = json::read(example.text, test::example_limits);
    ASSERT_TRUE(document) << example.name << ": " << document.error().message;
    Options options;
    options.warnings = false;
    std::set<std::string_view> rules;
    const Report report = validate(document->root(), release, options);
    for (const Issue& issue : report.issues) {
        if (rules.insert(issue.rule.key).second)
            found.insert(example.name + ' ' + std::string(issue.rule.key) + ' ' + issue.expression);
    }
}

class PublishedValidityTest : public testing::TestWithParam<Release> {};

TEST_P(PublishedValidityTest, OnlyTheNamedExamplesAreInvalid) {
    Breaches found;
    const std::size_t count = test::for_each_example(
        GetParam(), [&](const test::Example& example) { add_breaches(example, GetParam(), found); });
    EXPECT_EQ(count, test::example_count(GetParam()));
    EXPECT_EQ(found, known_breaches(GetParam()));
}

INSTANTIATE_TEST_SUITE_P(Releases, PublishedValidityTest, testing::ValuesIn(spec::releases),
                         [](const auto& one) { return std::string(spec::name_of(one.param)); });

}  // namespace
}  // namespace nightferry::fhir::check
