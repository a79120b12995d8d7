// The data types of datatypes.hpp, read from a JSON tree that a server wrote.
//
// Tolerant: what is missing or of another kind reads as empty, a lone item reads as a list of one, and a list
// is read up to `items_max`. Nothing throws.
#pragma once

#include <cstddef>
#include <functional>

#include "fhir/resource/datatypes.hpp"

namespace nightferry::fhir::resource {

inline constexpr std::size_t items_max = 10'000;

// The items of the member of that name; the member itself when it is no list.
std::vector<std::reference_wrapper<const json::Value>> items_of(const json::Value& object,
                                                                std::string_view name);

// The exact characters of a string or a number; empty for anything else.
std::string text_of(const json::Value& object, std::string_view name);
std::vector<std::string> texts_of(const json::Value& object, std::string_view name);
std::optional<bool> boolean_of(const json::Value& object, std::string_view name);

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
