#include "fhir/check/narrative_text.hpp"

#include <algorithm>
#include <charconv>
#include <cstdint>
#include <optional>
#include <string>

#include "fhir/check/entity_names.hpp"
#include "fhir/json/ascii.hpp"

namespace nightferry::fhir::check {

namespace {

// Whatever matters to no link.
constexpr char other = '?';

std::optional<char> numbered(std::string_view digits) {
    const int base = digits.starts_with('x') ? 16 : 10;
    if (base == 16) digits.remove_prefix(1);
    std::uint32_t number = 0;
    const auto [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), number, base);
    const bool whole = error == std::errc() && end == digits.data() + digits.size();
    if (!whole || number == 0 || number > 0x10FFFF) return std::nullopt;
    return number < 0x80 ? static_cast<char>(number) : other;
}

std::optional<char> named(std::string_view name) {
    if (!std::ranges::binary_search(entity_names, name)) return std::nullopt;
    return other;
}

// The character that the reference at the front stands for; nothing when it is none.
std::optional<char> take_reference(std::string_view& rest) {
    const auto end = rest.find(';');
    if (end == std::string_view::npos) return std::nullopt;
    const std::string_view body = rest.substr(1, end - 1);
    rest.remove_prefix(end + 1);
    return body.starts_with('#') ? numbered(body.substr(1)) : named(body);
}

}  // namespace

bool references_are_whole(std::string_view text) {
    for (auto at = text.find('&'); at != std::string_view::npos; at = text.find('&')) {
        text.remove_prefix(at);
        if (!take_reference(text)) return false;
    }
    return true;
}

bool runs_script(std::string_view link) {
    constexpr std::string_view active[] = {"javascript:", "vbscript:", "data:text/html"};
    constexpr std::size_t enough = 16;
    std::string start;
    while (!link.empty() && start.size() < enough) {
        char c = link.front();
        if (c == '&') {
            c = take_reference(link).value_or(other);
        } else {
            link.remove_prefix(1);
        }
        if (static_cast<unsigned char>(c) <= ' ') continue;
        start += ascii::lower(c);
    }
    return std::ranges::any_of(active, [&](std::string_view one) { return start.starts_with(one); });
}

}  // namespace nightferry::fhir::check
