// Good settings in pieces, and the cases of bad_settings.txt, whose first lines describe their form.
#pragma once

#include <gtest/gtest.h>

#include <map>
#include <sstream>
#include <string>
#include <string_view>
#include <vector>

#include "tests/support/files.hpp"

namespace nightferry::config {

using Lines = std::vector<std::string>;

// Tables of a good household, for settings that are about something else.
inline const std::map<std::string, std::string> good_tables{
    {"hub",
     "[hub]\nname = \"home-7\"\nzone = \"Europe/Dublin\"\nidentifier_system = \"urn:example:home-7\"\n"
     "data = \"data\"\ninbox = \"inbox\"\nsocket = \"hub.sock\"\n"},
    {"person", "[[person]]\nkey = \"juniper\"\nname = \"Juniper Exampleton-Test\"\n"},
    {"carer",
     "[[carer]]\nkey = \"marlow\"\nname = \"Marlow Exampleton\"\n"
     "[[carer]]\nkey = \"self\"\nname = \"Juniper\"\nsame_as = \"juniper\"\n"},
    {"medicine",
     "[[medicine]]\nkey = \"enoxaparin-100\"\nsubstance = \"enoxaparin\"\nstrength = \"100 mg/mL\"\n"},
};
inline constexpr std::string_view household = "hub person carer medicine";

inline std::string tables(std::string_view names) {
    std::string text;
    std::istringstream words{std::string(names)};
    for (std::string name; words >> name;)
        text += good_tables.at(name);
    return text;
}

struct Case {
    std::string name;
    std::string settings;
    Lines problems;
};

// "<0xE9>" stands for that byte.
inline std::string with_bytes(std::string line) {
    for (auto at = line.find("<0x"); at != std::string::npos; at = line.find("<0x", at + 1))
        line.replace(at, 6, 1, static_cast<char>(std::stoi(line.substr(at + 3, 2), nullptr, 16)));
    return line;
}

inline std::vector<Case> cases_of(const std::string& text) {
    enum class Part { preface, tables, settings, problems } part = Part::preface;
    std::vector<Case> cases;
    std::string behind;
    std::istringstream lines(text);
    for (std::string line; std::getline(lines, line);) {
        if (part != Part::settings && line.starts_with("=== ")) {
            cases.push_back({line.substr(4), {}, {}});
            part = Part::tables;
        } else if (part == Part::tables && line.starts_with("with:")) {
            behind = tables(line.substr(5));
        } else if (part == Part::tables && line == "--- settings") {
            part = Part::settings;
        } else if (part == Part::settings && line == "--- problems") {
            cases.back().settings += behind;
            part = Part::problems;
        } else if (part == Part::settings) {
            cases.back().settings += with_bytes(line) + '\n';
        } else if (part == Part::problems && !line.empty()) {
            cases.back().problems.push_back(line);
        } else {
            EXPECT_TRUE(part == Part::preface || line.empty()) << "no place for this line: " << line;
        }
    }
    return cases;
}

}  // namespace nightferry::config
