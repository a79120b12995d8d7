// The forms and ranges of the primitive types (https://hl7.org/fhir/R4/datatypes.html#primitive), by hand:
// the expressions published with R5 let wrong values pass and refuse right ones.
#pragma once

#include <string_view>

#include "fhir/spec/tables.hpp"

namespace nightferry::fhir::check {

// What the type expects, as a sentence for people, when `text` is not of its form or range; empty when it
// is. `text` is the string's characters or the number's lexeme; booleans, objects and xhtml have no form.
std::string_view wrong_form(spec::Form form, std::string_view text, spec::Release release);

}  // namespace nightferry::fhir::check
