// Finding the bytes of a JSON text that matter, eight at a time. (Sixteen at a time, where a processor can,
// was measured to gain nothing: the texts of FHIR are short.)
//
// Each of these may look up to Arena::slack bytes behind where it stops, and stops at a zero byte at the
// latest: they are for texts in an arena that end in one.
#pragma once

#include <bit>
#include <cstddef>
#include <cstdint>
#include <cstring>

namespace nightferry::fhir::json {

// Eight bytes as a number whose lowest byte is the first.
inline std::uint64_t eight_bytes(const char* at) {
    std::uint64_t bytes;
    std::memcpy(&bytes, at, sizeof bytes);
    if constexpr (std::endian::native == std::endian::big) bytes = __builtin_bswap64(bytes);
    return bytes;
}

constexpr std::uint64_t in_each_byte(unsigned char value) {
    return 0x0101010101010101U * value;
}

// Where the characters end that stand in a JSON string as they are: the first quote, backslash or control
// character.
inline const char* plain_end(const char* at) {
    // The highest bit of every byte that is below the bound, and right for the first of them: a borrow runs
    // only upwards, to later bytes.
    const auto below = [](std::uint64_t bytes, unsigned char bound) {
        return (bytes - in_each_byte(bound)) & ~bytes & in_each_byte(0x80);
    };
    for (;; at += 8) {
        const std::uint64_t bytes = eight_bytes(at);
        const std::uint64_t found =
            below(bytes, 0x20) | below(bytes ^ in_each_byte('"'), 1) | below(bytes ^ in_each_byte('\\'), 1);
        if (found != 0) return at + std::countr_zero(found) / 8;
    }
}

inline const char* behind_white_space(const char* at) {
    while (*at == ' ' || *at == '\n' || *at == '\r' || *at == '\t') {
        ++at;
        // Indentation.
        while (eight_bytes(at) == in_each_byte(' '))
            at += 8;
    }
    return at;
}

}  // namespace nightferry::fhir::json
