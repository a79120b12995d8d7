// A program's command line as its parser has it, in plain values: what a manual page and a completion are
// made of.
#pragma once

#include <string>
#include <vector>

namespace CLI {
class App;
}

namespace nightferry::manual {

// An option, or an argument that is told by its place.
struct Option {
    std::vector<std::string> names;    // "-h", "--help"; of an argument its one name, "file".
    std::string value;                 // What stands behind it, "FILE"; empty for a flag.
    std::vector<std::string> choices;  // All values that are taken, where there is a list of them.
    std::string limits;                // "1 to 10000", where it is a number between two.
    std::string meaning;
    std::string standard;     // What holds without it, where that is a value.
    std::string environment;  // The variable that stands for it.
    bool needed = false;
    bool repeated = false;

    bool operator==(const Option&) const = default;
};

struct Command {
    std::string name;
    std::string meaning;
    std::string footer;
    std::vector<Option> options;
    std::vector<Option> arguments;
    std::vector<Command> commands;
};

Command read_grammar(const CLI::App& app);

// The paragraphs of a text, which blank lines keep apart; each without a line break at its end.
std::vector<std::string> paragraphs(const std::string& text);

}  // namespace nightferry::manual
