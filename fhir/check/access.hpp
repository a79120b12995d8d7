// How the invariants look at an object: FHIRPath's exists() counts an element that has only extensions, and
// a choice element by any of its types.
#pragma once

#include <string>
#include <string_view>

#include "fhir/json/document.hpp"

namespace nightferry::fhir::check {

// x or _x is there.
bool present(const json::Value& object, std::string_view name);

// Any type of the choice element is there: "value" finds valueQuantity and _valueString.
bool choice_present(const json::Value& object, std::string_view prefix);

// The same text for values that FHIRPath calls equal: those with the same members and equal values, in
// whatever order.
std::string comparable_text(const json::Value& value);

}  // namespace nightferry::fhir::check
