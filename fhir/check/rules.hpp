// The rules that the validator knows, by key. Published invariants bear their published key (obs-6, qty-3,
// ...); rules that the specification states in prose or in its element tables have keys of ours. Every rule
// has the code of https://hl7.org/fhir/R4/valueset-issue-type.html under which its breach is reported.
#pragma once

#include <cstdint>
#include <string_view>

namespace nightferry::fhir::check {

enum class Severity : std::uint8_t { error, warning };

// The word of FHIR's issue-severity code system: "error", "warning".
std::string_view word_for(Severity severity);

struct Rule {
    std::string_view key;
    std::string_view issue_type;
    Severity severity = Severity::error;

    bool operator==(const Rule& other) const { return key == other.key; }
};

namespace rule {

// Structure: https://hl7.org/fhir/R4/json.html and the element tables.
inline constexpr Rule resource_type{"resource-type", "structure"};      // None, unknown or an abstract one.
inline constexpr Rule unknown_element{"unknown-element", "structure"};  // No such element here.
inline constexpr Rule min{"min", "required"};                           // A required element is missing.
inline constexpr Rule list{"list", "structure"};           // A list for what occurs at most once, or no list.
inline constexpr Rule kind{"kind", "structure"};           // Text for a number, number for an object, ...
inline constexpr Rule empty{"empty", "structure"};         // An empty text, list or object (also ele-1).
inline constexpr Rule null{"null", "structure"};           // Null where nothing pads two parallel lists.
inline constexpr Rule padding{"padding", "structure"};     // x and _x are lists of different length.
inline constexpr Rule choice{"choice", "structure"};       // Two types of one choice element.
inline constexpr Rule value{"value", "value"};             // The form or range of a primitive type.
inline constexpr Rule binding{"binding", "code-invalid"};  // A code outside a required value set.
inline constexpr Rule target{"target", "structure"};       // A reference to a type that is not allowed.

// A text of white space only, or with control characters: the specification says "should not".
inline constexpr Rule odd_text{"odd-text", "value", Severity::warning};

}  // namespace rule

}  // namespace nightferry::fhir::check
