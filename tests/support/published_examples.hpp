// The official example packages, as npm unpacks them below tests/peers.
#pragma once

#include <cstddef>
#include <functional>
#include <string>

#include "fhir/json/document.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/spec/release.hpp"

namespace nightferry::test {

struct Example {
    std::string name;  // Of the file.
    std::string text;
};

// The largest has 35 MB.
inline constexpr fhir::json::Limits example_limits{1 << 28, 256, 100'000'000, 1 << 26};

// How many resources the package of that release holds.
std::size_t example_count(fhir::spec::Release release);

// Calls `each` with every resource of the package whose file name begins with `prefix`, in the order of the
// names; returns how many there were.
std::size_t for_each_example(fhir::spec::Release release, const std::function<void(const Example&)>& each,
                             const std::string& prefix = {});

// One of them, by its file name without ".json"; fails the test when it cannot be read.
std::string published_text(fhir::spec::Release release, const std::string& name);
fhir::json::Document published(fhir::spec::Release release, const std::string& name);

}  // namespace nightferry::test
