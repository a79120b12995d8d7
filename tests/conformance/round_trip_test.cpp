// Every published example of the three releases (npm packages hl7.fhir.r4.examples 4.0.1,
// hl7.fhir.r4b.examples 4.3.0 and hl7.fhir.r5.examples 5.0.0) passes through our reader and writer with
// nothing changed but white space.
//
// And but one spelling: the packages of R4B and R5 escape the five characters & ' < = > as a program does
// whose output may end up in HTML, with \u and lower-case digits; we write them as they are, which RFC 8259
// section 7 holds to be the same string. The packages hold no other escape that we spell differently; those
// of R4 none at all.
#include <gtest/gtest.h>

#include "fhir/json/reader.hpp"
#include "fhir/json/writer.hpp"
#include "tests/support/published_examples.hpp"

namespace nightferry::fhir::json {
namespace {

// One of the five characters if such an escape stands there, else zero.
char html_escape_at(std::string_view text) {
    constexpr std::pair<std::string_view, char> escapes[] = {
        {"\\u0026", '&'}, {"\\u0027", '\''}, {"\\u003c", '<'}, {"\\u003d", '='}, {"\\u003e", '>'}};
    for (const auto& [escape, character] : escapes) {
        if (text.starts_with(escape)) return character;
    }
    return '\0';
}

struct Expected {
    std::string text;              // Without white space outside strings, the five characters as they are.
    std::size_t html_escapes = 0;  // How many of them were escapes.
};

// Decided by hand so that our own reader is not its own judge.
Expected expected_of(std::string_view text) {
    Expected expected;
    expected.text.reserve(text.size());
    bool in_string = false;
    for (std::size_t at = 0; at < text.size(); ++at) {
        const char c = text[at];
        if (c == '"') in_string = !in_string;
        if (!in_string && (c == ' ' || c == '\n' || c == '\r' || c == '\t')) continue;
        if (c != '\\') {
            expected.text += c;
        } else if (const char character = html_escape_at(text.substr(at)); character != '\0') {
            expected.text += character;
            ++expected.html_escapes;
            at += 5;
        } else {
            expected.text += c;
            expected.text += text[++at];
        }
    }
    return expected;
}

// Returns how many characters were escaped as for HTML.
std::size_t expect_unchanged(const test::Example& example) {
    const auto document = read(example.text, test::example_limits);
    if (!document) {
        ADD_FAILURE() << example.name << ": " << document.error().message;
        return 0;
    }
    const Expected expected = expected_of(example.text);
    const std::string written = write(document->root());
    // Not EXPECT_EQ: it would print megabytes.
    EXPECT_TRUE(written == expected.text) << example.name;
    const auto again = read(write_pretty(document->root()), test::example_limits);
    EXPECT_TRUE(again && write(again->root()) == written) << example.name;
    return expected.html_escapes;
}

std::size_t expect_package_unchanged(spec::Release release) {
    std::size_t html_escapes = 0;
    const std::size_t count = test::for_each_example(
        release, [&](const test::Example& example) { html_escapes += expect_unchanged(example); });
    EXPECT_EQ(count, test::example_count(release));
    return html_escapes;
}

TEST(RoundTripTest, EveryR4ExampleComesBackUnchanged) {
    EXPECT_EQ(expect_package_unchanged(spec::Release::r4), 0U);
}

TEST(RoundTripTest, EveryR4bExampleComesBackUnchanged) {
    EXPECT_GT(expect_package_unchanged(spec::Release::r4b), 0U);
}

TEST(RoundTripTest, EveryR5ExampleComesBackUnchanged) {
    EXPECT_GT(expect_package_unchanged(spec::Release::r5), 0U);
}

// Observation-decimal exists to catch software that takes decimals through binary floating point.
TEST(RoundTripTest, DecimalsKeepEveryDigit) {
    std::string text;
    test::for_each_example(
        spec::Release::r4,
        [&](const test::Example& example) {
            const auto document = read(example.text);
            if (document) text = write(document->root());
        },
        "Observation-decimal");
    for (const char* lexeme :
         {"1.0,", "1.00,", "1E-22", "1000000000000000000", "1.000000000000000000E-245"}) {
        EXPECT_NE(text.find(lexeme), std::string::npos) << lexeme;
    }
}

}  // namespace
}  // namespace nightferry::fhir::json
