#include "tests/support/published_examples.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <vector>

#include "tests/support/files.hpp"

namespace nightferry::test {

namespace fs = std::filesystem;
using fhir::spec::Release;

namespace {

fs::path folder_of(Release release) {
    const char* package = release == Release::r4    ? "hl7.fhir.r4.examples"
                          : release == Release::r4b ? "hl7.fhir.r4b.examples"
                                                    : "hl7.fhir.r5.examples";
    return fs::path(NIGHTFERRY_SOURCE_DIR) / "tests/peers/node_modules" / package;
}

}  // namespace

std::size_t example_count(Release release) {
    switch (release) {
        case Release::r4:
            return 5306;
        case Release::r4b:
            return 2840;
        case Release::r5:
            return 2822;
    }
    return 0;
}

std::size_t for_each_example(Release release, const std::function<void(const Example&)>& each,
                             const std::string& prefix) {
    std::vector<fs::path> files;
    for (const auto& item : fs::directory_iterator(folder_of(release))) {
        const std::string name = item.path().filename().string();
        const bool is_resource = name.ends_with(".json") && name != "package.json" && !name.starts_with('.');
        if (is_resource && name.starts_with(prefix)) files.push_back(item.path());
    }
    std::sort(files.begin(), files.end());
    for (const fs::path& file : files)
        each({file.filename().string(), read_file(file)});
    return files.size();
}

std::string published_text(Release release, const std::string& name) {
    return read_file(folder_of(release) / (name + ".json"));
}

fhir::json::Document published(Release release, const std::string& name) {
    auto document = fhir::json::read(published_text(release, name));
    EXPECT_TRUE(document) << name;
    return document ? std::move(*document) : fhir::json::Document();
}

}  // namespace nightferry::test
