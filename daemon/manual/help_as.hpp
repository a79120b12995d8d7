// The option --help-as: the program prints its own manual page or completion, so that neither is written
// twice.
#pragma once

#include "daemon/manual/page.hpp"

namespace nightferry::manual {

// Adds the option to a program that is otherwise described; when it is given, parsing ends like that of
// --version. `app` has to outlive its parsing.
void offer_help_as(CLI::App& app, Page page);

}  // namespace nightferry::manual
