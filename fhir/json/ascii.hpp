// Characters of ASCII, whatever the locale of the process.
#pragma once

#include <string>
#include <string_view>

namespace nightferry::fhir::ascii {

constexpr bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

constexpr bool is_upper(char c) {
    return c >= 'A' && c <= 'Z';
}

constexpr bool is_letter(char c) {
    return is_upper(c) || (c >= 'a' && c <= 'z');
}

constexpr bool is_letter_or_digit(char c) {
    return is_letter(c) || is_digit(c);
}

constexpr char lower(char c) {
    return is_upper(c) ? static_cast<char>(c - 'A' + 'a') : c;
}

inline std::string lower(std::string_view text) {
    std::string result(text);
    for (char& c : result)
        c = lower(c);
    return result;
}

}  // namespace nightferry::fhir::ascii
