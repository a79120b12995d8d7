// Golden pairs: golden/NAME.entry.ndjson holds what was handed in (a record, then perhaps an amendment or a
// retraction), golden/NAME.fhir.json what the clinic receives of the last line: the resource and its
// Provenance. The FHIR side was reviewed by eye against the R4 element tables
// (https://hl7.org/fhir/R4/medicationadministration.html, observation.html, provenance.html).
//
// To write new or changed files: NIGHTFERRY_WRITE_GOLDEN=1 build/tests/test_daemon_mapping, then review the
// diff.
#include <gtest/gtest.h>

#include <cstdlib>

#include "daemon/entry/body.hpp"
#include "daemon/entry/check.hpp"
#include "daemon/entry/reader.hpp"
#include "daemon/mapping/mapper.hpp"
#include "fhir/json/writer.hpp"
#include "tests/support/files.hpp"
#include "tests/support/household.hpp"

namespace nightferry::mapping {
namespace {

namespace fs = std::filesystem;
namespace json = fhir::json;

const fs::path folder = fs::path(NIGHTFERRY_SOURCE_DIR) / "tests/daemon/mapping/golden";

Identities identities() {
    return {"urn:example:test-home",
            {{"juniper", "Patient/p1"}},
            {{"marlow", "RelatedPerson/marlow"}},
            "Device/hub"};
}

// What the hub made is stored as it stands, and never handed in.
entry::Version stored_version_from(const std::string& text) {
    entry::Version version;
    std::istringstream lines(text);
    for (std::string line; std::getline(lines, line);) {
        const auto submission = entry::from_body(line);
        EXPECT_TRUE(submission) << line;
        if (!submission) continue;
        version = {version.revision + 1, *submission, *submission->entry, test::test_now()};
    }
    return version;
}

entry::Version version_from(const std::string& text) {
    if (text.find("\"type\":\"summary\"") != std::string::npos) return stored_version_from(text);
    const entry::Reading reading = entry::read(text, entry::Format::ndjson);
    entry::Version version;
    for (const entry::Draft& draft : reading.drafts) {
        const entry::Checked checked = entry::check(draft, test::household(), test::test_now());
        for (const entry::Problem& problem : checked.problems)
            ADD_FAILURE() << problem.where << ": " << problem.what;
        if (!checked.submission) continue;
        ++version.revision;
        version.submission = *checked.submission;
        if (checked.submission->entry) version.content = *checked.submission->entry;
        version.accepted = test::test_now();
    }
    return version;
}

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

std::vector<std::string> names() {
    std::vector<std::string> names;
    for (const auto& item : fs::directory_iterator(folder)) {
        const std::string name = item.path().filename().string();
        const std::string ending = ".entry.ndjson";
        if (name.ends_with(ending)) names.push_back(name.substr(0, name.size() - ending.size()));
    }
    std::sort(names.begin(), names.end());
    return names;
}

class GoldenTest : public testing::TestWithParam<std::string> {};

TEST_P(GoldenTest, MapsAsReviewed) {
    const fs::path expected = folder / (GetParam() + ".fhir.json");
    const std::string actual = mapped(version_from(test::read_file(folder / (GetParam() + ".entry.ndjson"))));
    if (std::getenv("NIGHTFERRY_WRITE_GOLDEN") != nullptr) test::write_file(expected, actual);
    EXPECT_EQ(actual, test::read_file(expected));
}

INSTANTIATE_TEST_SUITE_P(Pairs, GoldenTest, testing::ValuesIn(names()),
                         [](const auto& name) { return name.param; });

TEST(GoldenFolderTest, CoversEveryEntryTypeAndStatus) {
    std::string all;
    for (const std::string& name : names())
        all += test::read_file(folder / (name + ".fhir.json"));
    for (const char* status : {"completed", "not-done", "entered-in-error", "final", "amended"}) {
        EXPECT_NE(all.find("\"status\": \"" + std::string(status) + "\""), std::string::npos) << status;
    }
    EXPECT_GE(names().size(), 14U);
}

}  // namespace
}  // namespace nightferry::mapping
