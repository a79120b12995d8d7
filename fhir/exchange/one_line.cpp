#include "fhir/exchange/one_line.hpp"

namespace nightferry::fhir::exchange {

namespace {

struct Character {
    char32_t code = 0xFFFD;
    std::size_t bytes = 1;
    bool valid = false;
};

// The first character of a text that is not empty (RFC 3629: no surrogates, nothing overlong).
Character first_character(std::string_view text) {
    const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
    if (byte(0) < 0x80) return {byte(0), 1, true};
    const std::size_t length = byte(0) >= 0xF0 ? 4 : byte(0) >= 0xE0 ? 3 : 2;
    if (byte(0) < 0xC2 || byte(0) > 0xF4 || text.size() < length) return {};
    char32_t code = byte(0) & (0x7FU >> length);
    for (std::size_t i = 1; i < length; ++i) {
        if ((byte(i) & 0xC0) != 0x80) return {};
        code = (code << 6) | (byte(i) & 0x3FU);
    }
    const bool overlong = code < (length == 4 ? 0x10000U : length == 3 ? 0x800U : 0x80U);
    if (overlong || code > 0x10FFFF || (code >= 0xD800 && code <= 0xDFFF)) return {};
    return {code, length, true};
}

bool is_blank(char32_t code) {
    const bool turns_writing = code == 0x200E || code == 0x200F || (code >= 0x202A && code <= 0x202E) ||
                               (code >= 0x2066 && code <= 0x2069);
    return code <= 0x20 || (code >= 0x7F && code <= 0xA0) || code == 0x2028 || code == 0x2029 ||
           code == 0xFEFF || turns_writing;
}

}  // namespace

std::string one_line(std::string_view text, std::size_t limit) {
    std::string line;
    bool blank_pending = false;
    while (!text.empty()) {
        const Character character = first_character(text);
        const std::string_view bytes = text.substr(0, character.bytes);
        text.remove_prefix(character.bytes);
        if (is_blank(character.code)) {
            blank_pending = !line.empty();
            continue;
        }
        const std::string_view shown = character.valid ? bytes : "\xEF\xBF\xBD";
        if (line.size() + (blank_pending ? 1 : 0) + shown.size() > limit) return line + "…";
        if (blank_pending) line += ' ';
        blank_pending = false;
        line += shown;
    }
    return line;
}

}  // namespace nightferry::fhir::exchange
