#include "fhir/json/large_numbers.hpp"

#include <algorithm>
#include <string_view>

#include "fhir/json/ascii.hpp"

namespace nightferry::fhir::json {

namespace {

// A double reaches a little beyond 10^308.
constexpr std::size_t safe_digits = 300;

bool take(std::string_view& rest, std::string_view any) {
    if (rest.empty() || any.find(rest.front()) == std::string_view::npos) return false;
    rest.remove_prefix(1);
    return true;
}

bool take_digits(std::string_view& rest) {
    const auto end = std::find_if_not(rest.begin(), rest.end(), ascii::is_digit);
    const auto count = static_cast<std::size_t>(end - rest.begin());
    rest.remove_prefix(count);
    return count > 0;
}

// RFC 8259 section 6.
bool is_number(std::string_view text) {
    take(text, "-");
    if (!take(text, "0") && !take_digits(text)) return false;
    if (take(text, ".") && !take_digits(text)) return false;
    if (take(text, "eE")) {
        take(text, "+-");
        if (!take_digits(text)) return false;
    }
    return text.empty();
}

bool may_be_large(std::string_view number) {
    return number.size() > safe_digits || number.find_first_of("eE") != std::string_view::npos;
}

void mask(char* number, char* end) {
    if (*number == '-') ++number;
    ++number;
    if (end - number < 2) return;
    *number++ = '.';
    std::fill(number, end, '0');
}

char* end_of_string(char* at, char* end) {
    for (++at; at < end && *at != '"'; ++at) {
        if (*at == '\\') ++at;
    }
    return std::min(at + 1, end);
}

}  // namespace

void mask_large_numbers(char* text, std::size_t size) {
    char* const end = text + size;
    for (char* at = text; at < end;) {
        if (*at == '"') {
            at = end_of_string(at, end);
        } else if (*at == '-' || ascii::is_digit(*at)) {
            const std::string_view rest(at, static_cast<std::size_t>(end - at));
            const auto length = std::min(rest.find_first_not_of("0123456789+-.eE"), rest.size());
            const std::string_view number = rest.substr(0, length);
            if (may_be_large(number) && is_number(number)) mask(at, at + length);
            at += length;
        } else {
            ++at;
        }
    }
}

}  // namespace nightferry::fhir::json
