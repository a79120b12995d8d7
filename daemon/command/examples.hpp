// An example of each command, for its --help and the manual page.
#pragma once

namespace CLI {
class App;
}

namespace nightferry::command {

// Puts them below what the commands' footers say already. Every command has one.
void add_examples(CLI::App& app);

}  // namespace nightferry::command
