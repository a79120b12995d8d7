// `nightferry fhir-check`: holds FHIR resources in files against the published definitions. It needs neither
// settings nor the daemon.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fhir/spec/release.hpp"

namespace nightferry::command {

struct FhirCheck {
    std::vector<std::string> paths;  // Files, folders (searched through for .json and .ndjson), or - .
    fhir::spec::Release release = fhir::spec::Release::r4;
    bool as_outcome = false;         // One OperationOutcome per resource and line, instead of words.
    bool resource_per_line = false;  // Also in files whose name does not end in .ndjson.
    bool warnings = true;
};

// "R4", "R4B" or "R5" in capitals or not; nothing for another word.
std::optional<fhir::spec::Release> release_named(std::string_view name);

// Checks everything that is named, and gives the exit status: ok when every resource is valid, bad_input when
// one is not, unavailable when something could not be looked at, io when the answers could not be written.
int check_fhir(const FhirCheck& wanted);

}  // namespace nightferry::command
