// What a shell completes of a command line, from its own parser.
#pragma once

#include <string>

#include "daemon/manual/grammar.hpp"

namespace nightferry::manual {

// A file for bash to read: commands, options, and values where the parser lists them or takes a file.
std::string bash_completion(const Command& grammar);

}  // namespace nightferry::manual
