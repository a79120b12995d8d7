#include "daemon/manual/page.hpp"

#include <algorithm>
#include <cctype>
#include <sstream>

namespace nightferry::manual {

namespace {

// Text as it stands on the page. Hyphens stay plain so that what is copied from a terminal can be run.
std::string plain(const std::string& text) {
    std::string safe;
    bool word_starts = true;
    for (const char c : text) {
        // At the start of a line, wherever lines come to be broken, these two would be commands.
        if (word_starts && (c == '.' || c == '\'')) safe += "\\&";
        word_starts = c == '\n' || c == ' ';
        if (c == '\\') {
            safe += "\\e";
        } else if (c == '-') {
            safe += "\\-";
        } else {
            safe += c;
        }
    }
    return safe;
}

// The words of a paragraph in lines of the length that pages have by custom, with the break of the last one.
std::string filled(const std::string& words) {
    constexpr std::size_t line_max = 78;
    std::string text;
    std::size_t length = 0;
    std::istringstream stream(words);
    for (std::string word; stream >> word; length += word.size()) {
        if (length > 0 && length + 1 + word.size() > line_max) {
            text += '\n';
            length = 0;
        } else if (length > 0) {
            text += ' ';
            ++length;
        }
        text += word;
    }
    return text + '\n';
}

std::string bold(const std::string& text) {
    return "\\fB" + plain(text) + "\\fR";
}

std::string italic(const std::string& text) {
    return "\\fI" + plain(text) + "\\fR";
}

// In brackets behind the meaning: what is taken, what holds without it, and which variable stands for it.
std::string remarks(const Option& option) {
    std::vector<std::string> parts;
    if (!option.limits.empty()) parts.push_back(plain(option.limits));
    if (!option.choices.empty() && option.value.find('|') == std::string::npos) {
        std::string all;
        for (const std::string& choice : option.choices)
            all += (all.empty() ? "" : ", ") + plain(choice);
        parts.push_back("one of " + all);
    }
    if (!option.standard.empty()) parts.push_back(plain(option.standard) + " if left out");
    if (!option.environment.empty()) parts.push_back("or the variable " + bold(option.environment));
    if (option.needed && option.names.front().starts_with('-')) parts.emplace_back("needed");
    std::string joined;
    for (const std::string& part : parts)
        joined += (joined.empty() ? " (" : "; ") + part;
    return joined.empty() ? "" : joined + ")";
}

std::string tagged(const Option& option) {
    const bool argument = !option.names.front().starts_with('-');
    std::string tag;
    for (const std::string& name : option.names)
        tag += (tag.empty() ? "" : ", ") + (argument ? italic(name) : bold(name));
    if (!argument && !option.value.empty()) tag += " " + italic(option.value);
    return ".TP\n" + tag + "\n" + filled(plain(option.meaning) + remarks(option));
}

std::string written(const Option& argument) {
    const std::string name = italic(argument.names.front()) + (argument.repeated ? " ..." : "");
    return argument.needed ? " " + name : " [" + name + "]";
}

std::string synopsis(const Command& command) {
    std::string line = bold(command.name);
    if (!command.options.empty()) line += " [" + italic("options") + "]";
    for (const Option& argument : command.arguments)
        line += written(argument);
    return line;
}

std::string list_of(const Command& command) {
    std::string list;
    for (const Option& argument : command.arguments)
        list += tagged(argument);
    for (const Option& option : command.options)
        list += tagged(option);
    return list;
}

// "Exit status: 0 done; 64 wrong command line." as a list, a status each.
std::string statuses(const std::string& paragraph) {
    std::string list;
    std::string words = paragraph.substr(paragraph.find(':') + 1);
    if (words.ends_with('.')) words.pop_back();
    std::istringstream parts(words);
    for (std::string part; std::getline(parts, part, ';');) {
        part.erase(0, part.find_first_not_of(" \n"));
        const auto digits = std::min(part.find_first_not_of("0123456789"), part.size());
        if (digits > 0) list += ".TP\n" + bold(part.substr(0, digits)) + "\n";
        list += filled(plain(part.substr(digits)));
    }
    return list;
}

bool is_examples(const std::string& paragraph) {
    return paragraph.starts_with("Examples:");
}

std::string examples(const std::string& paragraph) {
    return ".nf\n" + plain(paragraph.substr(paragraph.find('\n') + 1)) + "\n.fi\n";
}

std::string commands(const Command& grammar) {
    std::string text;
    for (const Command& command : grammar.commands) {
        text += ".SS " + synopsis(command) + "\n" + filled(plain(command.meaning) + ".") + list_of(command);
        for (const std::string& paragraph : paragraphs(command.footer)) {
            text += ".PP\n";
            text += is_examples(paragraph) ? examples(paragraph) : filled(plain(paragraph));
        }
    }
    return text;
}

std::string see_also(const std::vector<std::string>& pages) {
    std::string text;
    for (const std::string& page : pages) {
        const auto bracket = page.find('(');
        text +=
            (text.empty() ? ".SH SEE ALSO\n" : ",\n") + bold(page.substr(0, bracket)) + page.substr(bracket);
    }
    return text.empty() ? "" : text + "\n";
}

}  // namespace

std::string manual_page(const Command& grammar, const Page& page) {
    std::string title = grammar.name;
    std::ranges::transform(title, title.begin(), [](unsigned char c) { return std::toupper(c); });
    std::string about;
    std::string sections;
    for (const std::string& paragraph : paragraphs(grammar.meaning))
        about += (about.empty() ? "" : ".PP\n") + filled(plain(paragraph));
    for (const std::string& paragraph : paragraphs(grammar.footer)) {
        if (is_examples(paragraph)) {
            sections += ".SH EXAMPLES\n" + examples(paragraph);
        } else if (paragraph.starts_with("Exit status:")) {
            sections += ".SH EXIT STATUS\n" + statuses(paragraph);
        } else {
            about += ".PP\n" + filled(plain(paragraph));
        }
    }
    std::string text = ".TH " + plain(title) + " " + page.section + " \"\" \"" + plain(page.version) + "\"\n";
    text += ".SH NAME\n" + plain(grammar.name) + " \\- " + plain(page.in_one_line) + "\n";
    text += ".SH SYNOPSIS\n" + synopsis(grammar);
    text += std::string(grammar.commands.empty() ? "" : " " + italic("command") + " ...") + "\n";
    text += ".SH DESCRIPTION\n" + about + ".SH OPTIONS\n" + list_of(grammar);
    if (!grammar.commands.empty()) text += ".SH COMMANDS\n" + commands(grammar);
    return text + sections + see_also(page.see_also);
}

}  // namespace nightferry::manual
