#include "config/settings_reader.hpp"

#include <algorithm>

#include "daemon/core/words.hpp"

namespace nightferry::config {

namespace {

std::string_view kind_words(const toml::node& node) {
    if (node.is_table()) return "a table";
    if (node.is_array()) return "a list";
    if (node.is_string()) return "a text";
    if (node.is_boolean()) return "true or false";
    if (node.is_number()) return "a number";
    return "a date or time";
}

// How a list is written: "[[regimen.order]]", whatever the numbers of the items it lies in.
std::string heading(std::string path) {
    for (auto open = path.find('['); open != std::string::npos; open = path.find('['))
        path.erase(open, path.find(']') - open + 1);
    return "[[" + path + "]]";
}

}  // namespace

std::string TableReader::path_of(std::string_view key) const {
    return path_.empty() ? std::string(key) : path_ + "." + std::string(key);
}

std::size_t TableReader::line_of(std::string_view key) const {
    const toml::node* node = table_.get(key);
    return node == nullptr ? table_.source().begin.line : node->source().begin.line;
}

void TableReader::problem(std::string_view key, std::string what) {
    problems_.push_back({line_of(key), path_of(key), std::move(what), has_free_keys_ ? path_ : path_of(key)});
}

const toml::node* TableReader::take(std::string_view key) {
    taken_.emplace(key);
    return table_.get(key);
}

std::optional<std::string> TableReader::text(std::string_view key) {
    const toml::node* node = take(key);
    if (node == nullptr) return std::nullopt;
    const auto* value = node->as_string();
    if (value == nullptr) {
        problem(key, "found " + std::string(kind_words(*node)) + ", expected a text in quotes");
        return std::nullopt;
    }
    if (trimmed(value->get()).empty() || !is_plain_text(value->get(), false)) {
        problem(key, "expected a text on one line that is not empty");
        return std::nullopt;
    }
    return value->get();
}

std::vector<std::string> TableReader::list(std::string_view key) {
    const auto written = text(key);
    if (!written) return {};
    std::vector<std::string> parts;
    for (std::size_t start = 0; start <= written->size();) {
        const auto comma = std::min(written->find(',', start), written->size());
        parts.emplace_back(trimmed(std::string_view(*written).substr(start, comma - start)));
        start = comma + 1;
    }
    return parts;
}

std::string TableReader::need_text(std::string_view key, std::string_view expected) {
    if (table_.get(key) == nullptr) {
        take(key);
        problem(key, "is missing; expected " + std::string(expected));
        return {};
    }
    return text(key).value_or(std::string());
}

const toml::table* TableReader::table(std::string_view key) {
    const toml::node* node = take(key);
    if (node == nullptr) return nullptr;
    if (!node->is_table()) problem(key, "found " + std::string(kind_words(*node)) + ", expected a table");
    return node->as_table();
}

std::vector<const toml::table*> TableReader::tables(std::string_view key, std::size_t least,
                                                    std::string_view expected) {
    std::vector<const toml::table*> found;
    const toml::node* node = take(key);
    const toml::array* list = node == nullptr ? nullptr : node->as_array();
    if (node != nullptr && list == nullptr) {
        problem(key, "found " + std::string(kind_words(*node)) + ", expected " + heading(path_of(key)) +
                         " with " + std::string(expected));
        return found;
    }
    for (std::size_t i = 0; list != nullptr && i < list->size(); ++i) {
        const toml::table* one = list->get(i)->as_table();
        if (one == nullptr) {
            problem(key, "expected " + heading(path_of(key)) + " with " + std::string(expected));
        } else {
            found.push_back(one);
        }
    }
    if (found.size() < least && (list == nullptr || list->size() < least)) {
        problem(key, "is missing; expected at least one " + heading(path_of(key)) + " with " +
                         std::string(expected));
    }
    return found;
}

std::vector<std::pair<std::string, std::string>> TableReader::all_texts() {
    std::vector<std::pair<std::string, std::string>> all;
    has_free_keys_ = true;
    for (const auto& [key, node] : table_) {
        if (auto value = text(key.str())) all.emplace_back(std::string(key.str()), std::move(*value));
    }
    return all;
}

void TableReader::report_leftovers() {
    const std::vector<std::string_view> known(taken_.begin(), taken_.end());
    for (const auto& [key, node] : table_) {
        if (taken_.contains(key.str())) continue;
        problems_.push_back({node.source().begin.line, path_of(key.str()),
                             "is not a key we know." + did_you_mean(key.str(), known), path_});
    }
}

}  // namespace nightferry::config
