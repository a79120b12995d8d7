// Words from outside, made fit for one line of a log, a table or a terminal.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace nightferry::fhir::exchange {

// At most `limit` bytes, and an ellipsis when more was there; always valid UTF-8. What is no UTF-8 becomes
// U+FFFD. Runs of blanks, line ends, control characters and marks that turn the writing direction become one
// blank, those at the ends nothing.
std::string one_line(std::string_view text, std::size_t limit);

}  // namespace nightferry::fhir::exchange
