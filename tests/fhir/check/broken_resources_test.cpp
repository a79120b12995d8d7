// Every rule is broken at least once in broken_resources.txt, in a resource that keeps all the others.
#include <gtest/gtest.h>

#include <set>

#include "fhir/check/validator.hpp"
#include "fhir/json/reader.hpp"
#include "tests/fhir/check/resource_cases.hpp"

namespace nightferry::fhir::check {
namespace {

std::string words_of(const Issue& issue) {
    return std::string(issue.rule.key) + ' ' + issue.expression + ' ' +
           (issue.pointer.empty() ? "(whole)" : issue.pointer);
}

std::vector<std::string> errors_of(const json::Value& resource, spec::Release release) {
    std::vector<std::string> errors;
    Options options;
    options.warnings = false;
    for (const Issue& issue : validate(resource, release, options).issues)
        errors.push_back(words_of(issue));
    return errors;
}

TEST(BrokenResourcesTest, EveryResourceIsToldItsOneFault) {
    const auto cases = resource_cases("broken_resources.txt");
    std::set<std::string> titles;
    for (const ResourceCase& one : cases) {
        EXPECT_TRUE(titles.insert(one.title).second) << "two cases have the title " << one.title;
        const auto document = json::read(one.resource);
        ASSERT_TRUE(document.has_value()) << one.title;
        EXPECT_FALSE(one.releases().empty()) << one.title;
        for (const spec::Release release : one.releases()) {
            const std::vector<std::string> expected{one.facts.at("breaks")};
            EXPECT_EQ(errors_of(document->root(), release), expected)
                << one.title << " in " << name_of(release);
        }
    }
    EXPECT_GE(cases.size(), 90u);
}

// The rules that stand in rules.hpp and in the invariants_*.cpp; a new one belongs into this list and the
// file.
TEST(BrokenResourcesTest, EveryRuleIsBrokenByAtLeastOneResource) {
    std::set<std::string> broken;
    for (const ResourceCase& one : resource_cases("broken_resources.txt"))
        broken.insert(one.facts.at("breaks").substr(0, one.facts.at("breaks").find(' ')));
    for (const char* key :
         {"resource-type", "unknown-element", "min",     "list",   "kind",   "empty",  "null",   "padding",
          "choice",        "value",           "binding", "target", "txt-1",  "txt-2",  "sqty-1", "qty-3",
          "age-1",         "cnt-3",           "dis-1",   "drt-1",  "rng-2",  "rat-1",  "inv-1",  "inv-2",
          "ratrng-1",      "ratrng-2",        "per-1",   "att-1",  "cpt-2",  "ref-1",  "ref-2",  "ext-1",
          "exp-1",         "exp-2",           "sdd-1",   "tim-1",  "tim-2",  "tim-4",  "tim-5",  "tim-6",
          "tim-7",         "tim-8",           "tim-9",   "tim-10", "av-1",   "trd-1",  "trd-2",  "trd-3",
          "drq-1",         "drq-2",           "dos-1",   "mad-1",  "obs-3",  "obs-6",  "obs-7",  "obs-8",
          "prov-1",        "dev-1",           "pat-1",   "dom-2",  "dom-3",  "dom-4",  "dom-5",  "bdl-1",
          "bdl-2",         "bdl-3",           "bdl-3a",  "bdl-3b", "bdl-3c", "bdl-3d", "bdl-4",  "bdl-5",
          "bdl-7",         "bdl-8",           "bdl-9",   "bdl-10", "bdl-11", "bdl-12", "bdl-13", "bdl-14",
          "bdl-15",        "bdl-16",          "bdl-17",  "bdl-18", "cpb-1",  "cpb-2",  "cpb-3",  "cpb-4",
          "cpb-7",         "cpb-9",           "cpb-12",  "cpb-14", "cpb-15", "cpb-16"})
        EXPECT_TRUE(broken.contains(key)) << key;
}

}  // namespace
}  // namespace nightferry::fhir::check
