// Which release a resource of others is written in, and what is wrong with it by that release.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "daemon/entry/draft.hpp"
#include "fhir/json/document.hpp"
#include "fhir/spec/release.hpp"

namespace nightferry::mapping {

struct Validity {
    fhir::spec::Release release = fhir::spec::Release::r4;
    std::vector<entry::Problem> of_whole;  // Of the Bundle around the entries, or of a resource alone.
    std::map<std::size_t, std::vector<entry::Problem>> of_entries;  // By their place in the Bundle.
};

// As read_resources() says.
Validity validity_of(const fhir::json::Value& root, std::optional<fhir::spec::Release> stated);

}  // namespace nightferry::mapping
