// A Report as a FHIR OperationOutcome, for programs. It is valid in every release.
#pragma once

#include <cstddef>
#include <string_view>

#include "fhir/check/validator.hpp"
#include "fhir/json/document.hpp"

namespace nightferry::fhir::check {

// The code system of the rule keys in issue.details.
inline constexpr std::string_view rule_system = "https://nightferry.example/fhir/CodeSystem/check-rule";

// Where the resource was read from.
struct Source {
    std::string_view name;       // Of a file, or what else tells people; may be empty.
    std::string_view text = {};  // From which the resource was read; empty when it was built.
    std::size_t first_line = 1;  // The line of the file on which the text begins.
};

// `into` is an empty object. Every issue becomes one with severity, code, the rule and our sentence in
// details, the FHIRPath in expression, and in diagnostics where it is: the source's name with line and
// column, then the JSON pointer. Without issues there is one that says so, because an OperationOutcome has at
// least one.
void put_outcome(json::Value& into, const Report& report, const Source& source);

// The same for a text that is no JSON.
void put_outcome(json::Value& into, std::string_view reason, std::string_view where);

}  // namespace nightferry::fhir::check
