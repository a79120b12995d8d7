// Reads a settings file and reports every problem at once.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "config/settings.hpp"

namespace nightferry::config {

struct Problem {
    std::size_t line = 0;  // 0 when it concerns no line.
    std::string key;       // "clinic[1].url"
    std::string what;      // What was found, what is expected.
    // As much of the key as the settings' format names, and nothing that somebody wrote:
    // "clinic[1].patients". This, the file and the line may go into a log.
    std::string place = {};
};

// What it takes to talk to a hub that runs.
struct Reach {
    Zone zone;
    std::filesystem::path socket;
};

struct Loaded {
    std::optional<Settings> settings;  // Set exactly when there are no problems.
    std::vector<Problem> problems;
    // Set whenever [hub] tells it, whatever else is wrong, and of a file that is no TOML when it stands
    // before the fault: a hub that runs goes on with the settings from before, and people have to be able to
    // talk to it.
    std::optional<Reach> reach = {};
};

// `folder` is what relative paths in the settings are relative to.
Loaded parse_settings(std::string_view text, const std::filesystem::path& folder);

Loaded load_settings(const std::filesystem::path& file);

// "nightferry.toml:12: clinic[1].url: …"
std::string to_line(const std::filesystem::path& file, const Problem& problem);

}  // namespace nightferry::config
