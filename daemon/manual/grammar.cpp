#include "daemon/manual/grammar.hpp"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <sstream>

namespace nightferry::manual {

namespace {

std::vector<std::string> split(const std::string& text, char mark) {
    std::vector<std::string> parts;
    std::istringstream stream(text);
    for (std::string part; std::getline(stream, part, mark);)
        parts.push_back(part);
    return parts;
}

// What stands between two marks, as in "TEXT:{RS256,RS384}" and "INT:INT in [1 - 10000]"; empty without them.
std::string between(const std::string& text, char open, char close) {
    const auto start = text.find(open);
    const auto end = text.find(close, start == std::string::npos ? 0 : start);
    if (start == std::string::npos || end == std::string::npos) return {};
    return text.substr(start + 1, end - start - 1);
}

void read_value(const CLI::Option& option, Option& read) {
    const std::string& text = option.get_option_text();
    const std::string kind = option.get_type_name();
    read.value = text.empty() ? kind.substr(0, kind.find(':')) : text;
    read.choices = text.empty() ? split(between(kind, '{', '}'), ',') : split(text, '|');
    read.limits = between(kind, '[', ']');
    if (const auto dash = read.limits.find(" - "); dash != std::string::npos)
        read.limits.replace(dash, 3, " to ");
}

Option read_option(const CLI::Option& option) {
    Option read;
    if (option.get_positional()) {
        read.names.push_back(option.get_name(true));
    } else {
        for (const std::string& name : option.get_snames())
            read.names.push_back("-" + name);
        for (const std::string& name : option.get_lnames())
            read.names.push_back("--" + name);
    }
    if (option.get_expected_max() > 0) read_value(option, read);
    read.meaning = option.get_description();
    read.standard = option.get_default_str();
    read.environment = option.get_envname();
    read.needed = option.get_required();
    read.repeated = option.get_expected_max() == CLI::detail::expected_max_vector_size;
    return read;
}

}  // namespace

Command read_grammar(const CLI::App& app) {
    Command command{app.get_name(), app.get_description(), app.get_footer(), {}, {}, {}};
    for (const CLI::Option* option : app.get_options())
        (option->get_positional() ? command.arguments : command.options).push_back(read_option(*option));
    for (const CLI::App* one : app.get_subcommands([](const CLI::App*) { return true; })) {
        Command read = read_grammar(*one);
        // Its --help is the one of the whole program, and so is a footer of which it has none of its own.
        if (read.footer == command.footer) read.footer.clear();
        std::erase_if(read.options, [&](const Option& option) {
            return std::ranges::any_of(command.options,
                                       [&](const Option& outer) { return outer.names == option.names; });
        });
        command.commands.push_back(std::move(read));
    }
    return command;
}

std::vector<std::string> paragraphs(const std::string& text) {
    std::vector<std::string> found;
    std::string current;
    for (const std::string& line : split(text, '\n')) {
        if (!line.empty()) {
            current += (current.empty() ? "" : "\n") + line;
        } else if (!current.empty()) {
            found.push_back(std::move(current));
            current.clear();
        }
    }
    if (!current.empty()) found.push_back(std::move(current));
    return found;
}

}  // namespace nightferry::manual
