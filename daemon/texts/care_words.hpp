// The words of the daemon's answers ("no_record", "upper_arm") as people read them.
#pragma once

#include <span>
#include <string>
#include <string_view>

#include "daemon/texts/speaker.hpp"

namespace nightferry::texts {

// A word that has no text here stands with blanks for its underscores.
std::string say_word(const Speaker& speaker, std::string_view word);

// All of them, by the word of the answers.
std::span<const Line<std::string_view>> care_words();

}  // namespace nightferry::texts
