// Comparing numbers by value, exactly, from their lexemes: nothing passes through binary floating point.
#pragma once

#include <compare>
#include <string>
#include <string_view>

namespace nightferry::fhir::json {

// Both are JSON numbers of any length and exponent; 1.0 and 1.00 are equal, and so are 18E-2 and 0.18. An
// exponent beyond a billion counts as a billion.
std::strong_ordering compare_numbers(std::string_view a, std::string_view b);

// The ends of what a number of that precision can stand for, half a unit of its last digit away: 9.45
// and 9.55 for 9.5. Whole numbers count with all their digits: 10 stands for 9.5 to 10.5.
std::string low_boundary(std::string_view number);
std::string high_boundary(std::string_view number);

}  // namespace nightferry::fhir::json
