#include "fhir/json/utf8.hpp"

#include "fhir/json/scan.hpp"

namespace nightferry::fhir::json {

namespace {

// How many of the bytes at the front are ASCII, in whole steps; the rest is for the caller to look at.
std::size_t ascii_steps(std::string_view text, std::size_t at) {
    constexpr std::uint64_t high_bits = in_each_byte(0x80);
    while (at + 16 <= text.size() &&
           ((eight_bytes(text.data() + at) | eight_bytes(text.data() + at + 8)) & high_bits) == 0)
        at += 16;
    return at;
}

bool between(unsigned char byte, unsigned low, unsigned high) {
    return byte >= low && byte <= high;
}

// The length of the character whose first byte is not ASCII, or 0 when it is none (RFC 3629 section 4).
std::size_t character_length(std::string_view rest) {
    const auto byte = [&](std::size_t i) {
        return i < rest.size() ? static_cast<unsigned char>(rest[i]) : static_cast<unsigned char>(0);
    };
    const unsigned char first = byte(0);
    if (between(first, 0xC2, 0xDF)) return between(byte(1), 0x80, 0xBF) ? 2 : 0;
    if (between(first, 0xE0, 0xEF)) {
        const unsigned low = first == 0xE0 ? 0xA0 : 0x80;
        const unsigned high = first == 0xED ? 0x9F : 0xBF;
        return between(byte(1), low, high) && between(byte(2), 0x80, 0xBF) ? 3 : 0;
    }
    if (between(first, 0xF0, 0xF4)) {
        const unsigned low = first == 0xF0 ? 0x90 : 0x80;
        const unsigned high = first == 0xF4 ? 0x8F : 0xBF;
        const bool valid =
            between(byte(1), low, high) && between(byte(2), 0x80, 0xBF) && between(byte(3), 0x80, 0xBF);
        return valid ? 4 : 0;
    }
    return 0;
}

}  // namespace

std::size_t find_invalid_utf8(std::string_view text) {
    for (std::size_t at = ascii_steps(text, 0); at < text.size();) {
        if (static_cast<unsigned char>(text[at]) < 0x80) {
            // Behind a character that is not ASCII there are mostly many that are.
            ++at;
            if (at % 16 == 0) at = ascii_steps(text, at);
            continue;
        }
        const std::size_t length = character_length(text.substr(at));
        if (length == 0) return at;
        at += length;
    }
    return std::string_view::npos;
}

}  // namespace nightferry::fhir::json
