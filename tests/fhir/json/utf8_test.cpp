#include "fhir/json/utf8.hpp"

#include <gtest/gtest.h>

namespace nightferry::fhir::json {

namespace {

constexpr std::size_t nowhere = std::string_view::npos;

std::string encoded(char32_t c) {
    const auto byte = [](char32_t value) { return static_cast<char>(static_cast<unsigned char>(value)); };
    if (c < 0x80) return {byte(c)};
    if (c < 0x800) return {byte(0xC0 | (c >> 6)), byte(0x80 | (c & 0x3F))};
    if (c < 0x10000) return {byte(0xE0 | (c >> 12)), byte(0x80 | ((c >> 6) & 0x3F)), byte(0x80 | (c & 0x3F))};
    return {byte(0xF0 | (c >> 18)), byte(0x80 | ((c >> 12) & 0x3F)), byte(0x80 | ((c >> 6) & 0x3F)),
            byte(0x80 | (c & 0x3F))};
}

TEST(Utf8Test, EveryCharacterIsValidAndNoSurrogateIs) {
    // RFC 3629 section 3.
    for (char32_t c = 1; c < 0x110000; ++c) {
        const bool surrogate = c >= 0xD800 && c <= 0xDFFF;
        ASSERT_EQ(find_invalid_utf8(encoded(c)), surrogate ? 0U : nowhere) << static_cast<unsigned>(c);
    }
    EXPECT_EQ(find_invalid_utf8(encoded(0x110000)), 0U);
    EXPECT_EQ(find_invalid_utf8(encoded(0x1FFFFF)), 0U);
}

TEST(Utf8Test, EveryPairOfBytesIsJudgedByTheGrammar) {
    // RFC 3629 section 4: two bytes are valid when both are ASCII or they are a UTF8-2.
    for (unsigned first = 0; first < 256; ++first) {
        for (unsigned second = 0; second < 256; ++second) {
            const std::string text{static_cast<char>(first), static_cast<char>(second)};
            const bool pair = first >= 0xC2 && first <= 0xDF && second >= 0x80 && second <= 0xBF;
            const std::size_t expected = pair || (first < 0x80 && second < 0x80) ? nowhere
                                         : first < 0x80                          ? 1
                                                                                 : 0;
            ASSERT_EQ(find_invalid_utf8(text), expected) << first << " " << second;
        }
    }
}

TEST(Utf8Test, LongerFormsThanNeededAndCutOnesAreInvalid) {
    for (const char* bytes : {"\xE0\x9F\xBF", "\xF0\x8F\xBF\xBF", "\xC1\xBF", "\xE2\x82", "\xF0\x9D\x84",
                              "\xE2\x28\xA1", "\xE2\x82\x28", "\xF0\x28\x8C\xBC", "\xF0\x90\x28\xBC",
                              "\xF0\x90\x8C\x28", "\xF5\x80\x80\x80", "\xFE", "\xFF"}) {
        EXPECT_EQ(find_invalid_utf8(bytes), 0U);
    }
}

TEST(Utf8Test, FirstInvalidPlaceIsFoundAtEveryDistance) {
    for (std::size_t before = 0; before < 70; ++before) {
        for (std::size_t behind = 0; behind < 40; ++behind) {
            const std::string ascii = std::string(before, 'a');
            const std::string rest = std::string(behind, 'b');
            EXPECT_EQ(find_invalid_utf8(ascii + "\xC3\xA9" + rest), nowhere);
            EXPECT_EQ(find_invalid_utf8(ascii + "\xA9" + rest), before);
            EXPECT_EQ(find_invalid_utf8("\xC3\xA9" + ascii + "\xC3" + rest), before + 2);
        }
    }
}

}  // namespace

}  // namespace nightferry::fhir::json
