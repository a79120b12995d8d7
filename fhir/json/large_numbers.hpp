// Numbers that a binary double cannot hold are numbers of JSON all the same, but RapidJSON refuses them even
// where it keeps numbers as text.
#pragma once

#include <cstddef>

namespace nightferry::fhir::json {

// Writes a small number of the same length over every number with an exponent or with hundreds of digits, so
// that the text can be parsed; whoever does this takes the numbers from elsewhere. What only looks like a
// number stays as it is, to be refused.
void mask_large_numbers(char* text, std::size_t size);

}  // namespace nightferry::fhir::json
