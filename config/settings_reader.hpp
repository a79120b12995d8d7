// One table of a settings file, read key by key; what is missing, of the wrong type or left over becomes a
// problem with its line.
#pragma once

#include <toml++/toml.h>

#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "config/load_settings.hpp"

namespace nightferry::config {

class TableReader {
 public:
    TableReader(const toml::table& table, std::string path, std::vector<Problem>& problems)
        : table_(table), path_(std::move(path)), problems_(problems) {}

    // A text that must be there, or may be missing. Empty texts are a problem.
    std::string need_text(std::string_view key, std::string_view expected);
    std::optional<std::string> text(std::string_view key);
    // The parts of a text with commas between them, without blanks around; none when it may be missing and
    // is.
    std::vector<std::string> list(std::string_view key);
    // The table or the list of tables under a key; a list may be missing if `least` is 0.
    const toml::table* table(std::string_view key);
    std::vector<const toml::table*> tables(std::string_view key, std::size_t least,
                                           std::string_view expected);

    // Every key and text of this table, for tables with free keys.
    std::vector<std::pair<std::string, std::string>> all_texts();

    bool has(std::string_view key) const { return table_.get(key) != nullptr; }
    void problem(std::string_view key, std::string what);
    void report_leftovers();

    std::string path_of(std::string_view key) const;

 private:
    const toml::node* take(std::string_view key);
    std::size_t line_of(std::string_view key) const;

    const toml::table& table_;
    std::string path_;
    std::vector<Problem>& problems_;
    std::set<std::string, std::less<>> taken_;
    bool has_free_keys_ = false;  // People choose them, by what they call each other perhaps.
};

}  // namespace nightferry::config
