#include "fhir/exchange/one_line.hpp"

#include <gtest/gtest.h>

namespace nightferry::fhir::exchange {
namespace {

TEST(OneLineTest, RunsOfBlanksBecomeOne) {
    EXPECT_EQ(one_line("  a\t\tb\r\n c\x7F d \n", 100), "a b c d");
    EXPECT_EQ(one_line("", 100), "");
    EXPECT_EQ(one_line(" \n ", 100), "");
}

TEST(OneLineTest, IsCutAtACharacterBoundary) {
    EXPECT_EQ(one_line("éééé", 5), "éé…");
    EXPECT_EQ(one_line("abcde", 5), "abcde");
    EXPECT_EQ(one_line("abcde \n", 5), "abcde");
    EXPECT_EQ(one_line("abcdef", 5), "abcde…");
    EXPECT_EQ(one_line("abcd ef", 5), "abcd…");
    EXPECT_EQ(one_line("a", 0), "…");
}

// RFC 3629 section 3: no lone continuation, nothing overlong, no surrogate, nothing past U+10FFFF, nothing
// cut.
TEST(OneLineTest, WhatIsNoUtf8IsReplaced) {
    const std::string mark = "\xEF\xBF\xBD";
    EXPECT_EQ(one_line("caf\xE9 x", 100), "caf" + mark + " x");
    EXPECT_EQ(one_line("\x80", 100), mark);
    EXPECT_EQ(one_line("\xC0\xAF", 100), mark + mark);
    EXPECT_EQ(one_line("\xE0\x80\xAF", 100), mark + mark + mark);
    EXPECT_EQ(one_line("\xED\xA0\x80", 100), mark + mark + mark);
    EXPECT_EQ(one_line("\xF4\x90\x80\x80", 100), mark + mark + mark + mark);
    EXPECT_EQ(one_line("\xF5", 100), mark);
    EXPECT_EQ(one_line("a\xE2\x82", 100), "a" + mark + mark);
    EXPECT_EQ(one_line("€ 𝄞 \xED\x9F\xBF", 100), "€ 𝄞 \xED\x9F\xBF");
}

// Escape sequences, C1 controls and marks that turn the writing direction could forge what a terminal shows.
TEST(OneLineTest, NothingCanForgeATerminal) {
    EXPECT_EQ(one_line("a\x1B[31mb", 100), "a [31mb");
    EXPECT_EQ(one_line("a\xC2\x9B"
                       "31mb",
                       100),
              "a 31mb");
    EXPECT_EQ(one_line("a\xE2\x80\xAE"
                       "b\xE2\x81\xA6"
                       "c",
                       100),
              "a b c");
    EXPECT_EQ(one_line("a\xE2\x80\xA8"
                       "b",
                       100),
              "a b");
    EXPECT_EQ(one_line(std::string("a\0b", 3), 100), "a b");
}

}  // namespace
}  // namespace nightferry::fhir::exchange
