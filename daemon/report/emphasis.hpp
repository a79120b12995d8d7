// Emphasis for a terminal, added to text that says everything without it.
#pragma once

#include <string>
#include <string_view>

namespace nightferry::report {

// Headings in bold: lines that begin with a capital, are no sentence and no row of a table, and that an
// indented line follows. And what somebody has to look at in bold and red: the words in capitals, and the
// levels at which a flag wants more than a note. Nothing else changes (ECMA-48 SGR).
std::string with_emphasis(std::string_view text);

}  // namespace nightferry::report
