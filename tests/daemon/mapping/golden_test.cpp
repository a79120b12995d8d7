// Golden pairs: golden/NAME.entry.ndjson holds what was handed in (a record, then perhaps an amendment or a
// retraction), golden/NAME.fhir.json what the clinic receives of the last line: the resource and its
// Provenance. The FHIR side was reviewed by eye against the R4 element tables
// (https://hl7.org/fhir/R4/medicationadministration.html, observation.html, provenance.html).
//
// To write new or changed files: NIGHTFERRY_WRITE_GOLDEN=1 build/tests/test_daemon_mapping, then review the
// diff.
#include <gtest/gtest.h>

#include <cstdlib>

#include "fhir/json/writer.hpp"
#include "tests/daemon/mapping/golden.hpp"

namespace nightferry::mapping {
namespace {

namespace json = fhir::json;

std::string mapped(const entry::Version& version) {
    const entry::Household household = test::household();
    const Mapper mapper(household, identities());
    json::Document both;
    const auto done = mapper.put_resource(both.root().add_object("resource"), version, {});
    EXPECT_TRUE(done);
    mapper.put_provenance(both.root().add_object("provenance"), version,
                          Mapper::full_url(version.content.id));
    return json::write_pretty(both.root());
}

class GoldenTest : public testing::TestWithParam<std::string> {};

TEST_P(GoldenTest, MapsAsReviewed) {
    const std::filesystem::path expected = golden_folder / (GetParam() + ".fhir.json");
    const std::string actual =
        mapped(version_from(test::read_file(golden_folder / (GetParam() + ".entry.ndjson"))));
    if (std::getenv("NIGHTFERRY_WRITE_GOLDEN") != nullptr) test::write_file(expected, actual);
    EXPECT_EQ(actual, test::read_file(expected));
}

INSTANTIATE_TEST_SUITE_P(Pairs, GoldenTest, testing::ValuesIn(golden_names()),
                         [](const auto& name) { return name.param; });

TEST(GoldenFolderTest, CoversEveryEntryTypeAndStatus) {
    std::string all;
    for (const std::string& name : golden_names())
        all += test::read_file(golden_folder / (name + ".fhir.json"));
    for (const char* status : {"completed", "not-done", "entered-in-error", "final", "amended"}) {
        EXPECT_NE(all.find("\"status\": \"" + std::string(status) + "\""), std::string::npos) << status;
    }
    EXPECT_GE(golden_names().size(), 14U);
}

}  // namespace
}  // namespace nightferry::mapping
