// Refusing what is right is the worst that a validator can do: see valid_resources.txt.
#include <gtest/gtest.h>

#include <set>

#include "fhir/check/validator.hpp"
#include "fhir/json/reader.hpp"
#include "tests/fhir/check/resource_cases.hpp"

namespace nightferry::fhir::check {
namespace {

TEST(ValidResourcesTest, NoneIsToldAnError) {
    const auto cases = resource_cases("valid_resources.txt");
    std::set<std::string> titles;
    for (const ResourceCase& one : cases) {
        EXPECT_TRUE(titles.insert(one.title).second) << "two cases have the title " << one.title;
        const auto document = json::read(one.resource);
        ASSERT_TRUE(document.has_value()) << one.title;
        EXPECT_FALSE(one.releases().empty()) << one.title;
        for (const spec::Release release : one.releases()) {
            const Report report = validate(document->root(), release);
            EXPECT_TRUE(report.valid()) << one.title << " in " << name_of(release);
            for (const Issue& issue : report.issues) {
                if (issue.rule.severity == Severity::error)
                    ADD_FAILURE() << one.title << ": " << issue.rule.key << ' ' << issue.expression << ": "
                                  << issue.text;
            }
        }
    }
    EXPECT_GE(cases.size(), 40u);
}

}  // namespace
}  // namespace nightferry::fhir::check
