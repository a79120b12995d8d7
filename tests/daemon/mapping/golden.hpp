// The golden pairs: golden/NAME.entry.ndjson holds what was handed in, NAME.fhir.json what the clinic gets of
// it.
#pragma once

#include <gtest/gtest.h>

#include "daemon/entry/body.hpp"
#include "daemon/entry/check.hpp"
#include "daemon/entry/reader.hpp"
#include "daemon/mapping/mapper.hpp"
#include "tests/support/files.hpp"
#include "tests/support/household.hpp"

namespace nightferry::mapping {

inline const std::filesystem::path golden_folder =
    std::filesystem::path(NIGHTFERRY_SOURCE_DIR) / "tests/daemon/mapping/golden";

inline Identities identities() {
    return {"urn:example:test-home",
            {{"juniper", "Patient/p1"}},
            {{"marlow", "RelatedPerson/marlow"}},
            "Device/hub"};
}

// What the hub made is stored as it stands, and never handed in.
inline entry::Version stored_version_from(const std::string& text) {
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

inline entry::Version version_from(const std::string& text) {
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

inline std::vector<std::string> golden_names() {
    std::vector<std::string> names;
    for (const auto& item : std::filesystem::directory_iterator(golden_folder)) {
        const std::string name = item.path().filename().string();
        const std::string ending = ".entry.ndjson";
        if (name.ends_with(ending)) names.push_back(name.substr(0, name.size() - ending.size()));
    }
    std::sort(names.begin(), names.end());
    return names;
}

}  // namespace nightferry::mapping
