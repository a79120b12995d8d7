// Small help with words in messages.
#pragma once

#include <initializer_list>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace nightferry {

// "a, b or c".
std::string any_of(std::span<const std::string_view> choices);
// "a, b and c".
std::string all_of(std::span<const std::string_view> items);

// " Did you mean 'x'?" for the choice nearest to what was written, or empty when none is near.
std::string did_you_mean(std::string_view written, std::span<const std::string_view> choices);

// "1 entry", "3 entries".
std::string counted(std::size_t count, std::string_view one, std::string_view many);

// What was found, safe to print: quoted, cut after 60 bytes at a character boundary, control characters
// replaced.
std::string in_quotes(std::string_view text);

std::string_view trimmed(std::string_view text);

// How many characters (code points) valid UTF-8 has.
std::size_t characters_in(std::string_view text);

// Valid UTF-8 without control characters; line feeds and tabs only if asked for.
bool is_plain_text(std::string_view text, bool with_line_feeds);

}  // namespace nightferry
