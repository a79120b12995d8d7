// A Report as a FHIR OperationOutcome, for programs. It is valid in every release.
#pragma once

#include <string_view>

#include "fhir/check/validator.hpp"
#include "fhir/json/document.hpp"

namespace nightferry::fhir::check {

// The code system of the rule keys in issue.details.
inline constexpr std::string_view rule_system = "https://nightferry.example/fhir/CodeSystem/check-rule";

// `into` is an empty object. Every issue becomes one with severity, code, the rule and our sentence in
// details, the FHIRPath in expression, and in diagnostics where it is: `source`, then line and column when
// `text`, from which the resource was read, is given, then the JSON pointer. Without issues there is one
// that says so, because an OperationOutcome has at least one.
void put_outcome(json::Value& into, const Report& report, std::string_view source,
                 std::string_view text = {});

// The same for a text that is no JSON.
void put_outcome(json::Value& into, std::string_view reason, std::string_view where);

}  // namespace nightferry::fhir::check
