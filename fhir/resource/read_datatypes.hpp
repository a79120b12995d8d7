// The data types of datatypes.hpp, read from a JSON tree that a server wrote.
//
// Tolerant: what is missing or of another kind reads as empty, and a lone item reads as a list of one.
// Nothing throws. How much there can be is bounded by the limits with which the tree was read.
#pragma once

#include "fhir/resource/datatypes.hpp"

namespace nightferry::fhir::resource {

// The exact characters of a string or a number; empty for anything else.
std::string text_of(const json::Value& object, std::string_view name);
std::vector<std::string> texts_of(const json::Value& object, std::string_view name);
std::optional<bool> boolean_of(const json::Value& object, std::string_view name);

// The value itself.
CodeableConcept concept_in(const json::Value& value);
Reference reference_in(const json::Value& value);
Identifier identifier_in(const json::Value& value);

// The member of that name.
CodeableConcept concept_of(const json::Value& object, std::string_view name);
Reference reference_of(const json::Value& object, std::string_view name);
std::vector<Identifier> identifiers_of(const json::Value& object, std::string_view name);

// Nothing without a value. The code is left out when its system is not UCUM.
std::optional<Quantity> quantity_of(const json::Value& object, std::string_view name);

// Whether this element or resource bears something that changes its meaning and that this library does not
// know: a modifierExtension or implicitRules. A caller must not act on it then
// (https://hl7.org/fhir/R4/extensibility.html#modifierExtension).
bool has_modifier(const json::Value& object);

}  // namespace nightferry::fhir::resource
