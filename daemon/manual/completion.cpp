#include "daemon/manual/completion.hpp"

#include <utility>
#include <vector>

namespace nightferry::manual {

namespace {

bool is_file(const Option& option) {
    return option.value == "FILE";
}

std::string joined(const std::vector<std::string>& words, const std::string& mark) {
    std::string all;
    for (const std::string& word : words)
        all += (all.empty() ? "" : mark) + word;
    return all;
}

std::vector<std::string> names_of(const std::vector<Option>& options) {
    std::vector<std::string> names;
    for (const Option& option : options)
        names.insert(names.end(), option.names.begin(), option.names.end());
    return names;
}

std::vector<std::string> names_with_value(const Command& command) {
    std::vector<std::string> names;
    for (const Option& option : command.options) {
        if (!option.value.empty()) names.insert(names.end(), option.names.begin(), option.names.end());
    }
    return names;
}

// What completes the value of each option, as the arms of a `case` over "command,option".
std::string values(const Command& command, const std::string& where, const std::string& function) {
    std::string arms;
    for (const Option& option : command.options) {
        if (option.value.empty()) continue;
        std::vector<std::string> patterns;
        for (const std::string& name : option.names)
            patterns.push_back(where + "," + name);
        arms += "        " + joined(patterns, "|") + ")\n";
        if (is_file(option)) arms += "            " + function + "_files\n";
        if (!option.choices.empty())
            arms += "            " + function + "_words '" + joined(option.choices, " ") + "'\n";
        arms += "            return ;;\n";
    }
    return arms;
}

// What completes any other word, as an arm of a `case` over the command.
std::string words(const Command& command, const std::string& where, const Command& program) {
    std::vector<std::string> names = names_of(command.options);
    std::vector<std::string> plain;
    bool files = false;
    if (&command == &program) {
        for (const Command& one : program.commands)
            plain.push_back(one.name);
    } else {
        const auto outer = names_of(program.options);
        names.insert(names.end(), outer.begin(), outer.end());
    }
    for (const Option& argument : command.arguments) {
        files = files || is_file(argument);
        plain.insert(plain.end(), argument.choices.begin(), argument.choices.end());
    }
    std::string arm = "        " + where + ")\n            options='" + joined(names, " ") + "'\n";
    if (!plain.empty()) arm += "            words='" + joined(plain, " ") + "'\n";
    if (files) arm += "            files=yes\n";
    return arm + "            ;;\n";
}

std::string before_the_command(const Command& grammar) {
    std::vector<std::string> names;
    for (const Command& one : grammar.commands)
        names.push_back(one.name);
    std::string arms;
    if (const auto valued = names_with_value(grammar); !valued.empty())
        arms += "            " + joined(valued, "|") + ") ((i++)) ;;\n";
    if (!names.empty())
        arms += "            " + joined(names, "|") + ") command=${COMP_WORDS[i]}; break ;;\n";
    return arms;
}

}  // namespace

std::string bash_completion(const Command& grammar) {
    const std::string function = "_" + grammar.name;
    std::string arms = values(grammar, "*", function);
    std::string kinds = words(grammar, "''", grammar);
    for (const Command& one : grammar.commands) {
        arms += values(one, one.name, function);
        kinds += words(one, one.name, grammar);
    }
    std::string text = R"(# Made by `PROGRAM --help-as bash`.
FUNCTION_words() {
    mapfile -t COMPREPLY < <(compgen -W "$1" -- "${COMP_WORDS[COMP_CWORD]}")
}
FUNCTION_files() {
    compopt -o filenames
    mapfile -t COMPREPLY < <(compgen -f -- "${COMP_WORDS[COMP_CWORD]}")
}
FUNCTION() {
    local command='' options='' words='' files='' i
    COMPREPLY=()
    for ((i = 1; i < COMP_CWORD; i++)); do
        case ${COMP_WORDS[i]} in
COMMANDS        esac
    done
    case $command,${COMP_WORDS[COMP_CWORD-1]} in
VALUES    esac
    case $command in
WORDS    esac
    case ${COMP_WORDS[COMP_CWORD]},$files in
        -*) FUNCTION_words "$options" ;;
        *,yes) FUNCTION_files ;;
        *) FUNCTION_words "$words" ;;
    esac
}
complete -F FUNCTION PROGRAM
)";
    const std::pair<std::string, std::string> places[]{{"FUNCTION", function},
                                                       {"PROGRAM", grammar.name},
                                                       {"COMMANDS", before_the_command(grammar)},
                                                       {"VALUES", arms},
                                                       {"WORDS    esac", kinds + "    esac"}};
    for (const auto& [place, filling] : places) {
        for (auto at = text.find(place); at != std::string::npos; at = text.find(place, at + filling.size()))
            text.replace(at, place.size(), filling);
    }
    return text;
}

}  // namespace nightferry::manual
