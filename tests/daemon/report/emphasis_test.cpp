// What a terminal is shown in bold or red, and that nothing else about the text changes.
#include "daemon/report/emphasis.hpp"

#include <gtest/gtest.h>

#include <regex>

namespace nightferry::report {

namespace {

constexpr char bold[] = "\x1b[1m";
constexpr char alarm[] = "\x1b[1;31m";
constexpr char plain[] = "\x1b[0m";

std::string b(const std::string& text) {
    return bold + text + plain;
}
std::string a(const std::string& text) {
    return alarm + text + plain;
}

TEST(EmphasisTest, HeadingsAreBold) {
    EXPECT_EQ(with_emphasis("Vials\n  V3  opened\nNo more\n"), b("Vials") + "\n  V3  opened\nNo more\n");
    EXPECT_EQ(with_emphasis("juniper  2026\n  x\n"), "juniper  2026\n  x\n")
        << "a row of a table is no heading";
    EXPECT_EQ(with_emphasis("Nobody has it.\n  x\ncontact him\n  x\n"),
              "Nobody has it.\n  x\ncontact him\n  x\n");
    EXPECT_EQ(with_emphasis("Alone"), "Alone");
    EXPECT_EQ(with_emphasis(""), "");
}

TEST(EmphasisTest, WhatSomebodyHasToLookAtIsRed) {
    EXPECT_EQ(with_emphasis("It is NOT sound:"), "It is " + a("NOT") + " sound:");
    EXPECT_EQ(with_emphasis("  urgent: a head injury\n  note: late\n"),
              "  " + a("urgent:") + " a head injury\n  note: late\n");
    EXPECT_EQ(with_emphasis("RETRACTED dose, UNREADABLE"), a("RETRACTED") + " dose, " + a("UNREADABLE"));
    EXPECT_EQ(with_emphasis("NOTE that it is not urgent: KNOT"), "NOTE that it is not urgent: KNOT");
}

TEST(EmphasisTest, WithoutTheSignsTheTextIsTheSame) {
    const std::string text =
        "Report  juniper\n\nTo look at\n  urgent: NOT given; NOT known\n  contact: x\n\nVials\n\n  V3\nNOT\n";
    const std::string shown = with_emphasis(text);
    EXPECT_NE(shown, text);
    EXPECT_EQ(std::regex_replace(shown, std::regex("\x1b\\[[0-9;]*m"), ""), text);
}

}  // namespace

}  // namespace nightferry::report
