// Comparing numbers by value, exactly, from their lexemes: nothing passes through binary floating point.
#pragma once

#include <compare>
#include <string_view>

namespace nightferry::fhir::json {

// Both are JSON numbers of any length and exponent; 1.0 and 1.00 are equal, and so are 18E-2 and 0.18. An
// exponent beyond a billion counts as a billion.
std::strong_ordering compare_numbers(std::string_view a, std::string_view b);

}  // namespace nightferry::fhir::json
