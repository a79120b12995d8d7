// The command line of nightferry: its commands, their arguments and options, and an example of each.
#pragma once

#include <functional>

#include "daemon/command/commands.hpp"

namespace CLI {
class App;
}

namespace nightferry::command {

// What was written on the command line: one of the two functions, the second when it needs no settings.
struct Wanted {
    using Run = int (Commands::*)();
    Run run = nullptr;
    // Otherwise a daemon that runs can be asked, whatever is wrong with them.
    bool needs_good_settings = false;
    std::function<int()> without_settings;
};

// Adds all of it to `app`. Parsing fills `options` and `wanted`, which outlive the app.
void describe(CLI::App& app, Options& options, Wanted& wanted);

}  // namespace nightferry::command
