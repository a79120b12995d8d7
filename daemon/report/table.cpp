#include "daemon/report/table.hpp"

#include <algorithm>
#include <cstdlib>

#include "daemon/core/words.hpp"

namespace nightferry::report {

namespace json = fhir::json;

std::string Table::text() const {
    std::vector<std::size_t> widths;
    for (const auto& cells : rows_) {
        widths.resize(std::max(widths.size(), cells.size()));
        for (std::size_t i = 0; i < cells.size(); ++i)
            widths[i] = std::max(widths[i], characters_in(cells[i]));
    }
    std::string text;
    for (const auto& cells : rows_) {
        std::string line;
        for (std::size_t i = 0; i < cells.size(); ++i) {
            line += cells[i];
            if (i + 1 < cells.size()) line.append(widths[i] - characters_in(cells[i]) + 2, ' ');
        }
        line.erase(line.find_last_not_of(' ') + 1);
        text += line + "\n";
    }
    return text;
}

std::string text_at(const json::Value& object, std::string_view name) {
    const json::Value* member = object.find(name);
    return member == nullptr ? std::string() : std::string(member->text());
}

long number_at(const json::Value& object, std::string_view name) {
    return std::strtol(text_at(object, name).c_str(), nullptr, 10);
}

bool flag_at(const json::Value& object, std::string_view name) {
    const json::Value* member = object.find(name);
    return member != nullptr && member->boolean();
}

std::string wrapped(std::string_view text, std::string_view indent, std::size_t width) {
    std::string lines;
    std::string line(indent);
    while (!text.empty()) {
        const auto blank = std::min(text.find(' '), text.size());
        const std::string_view word = text.substr(0, blank);
        text.remove_prefix(std::min(blank + 1, text.size()));
        const bool is_first = line.size() == indent.size();
        if (!is_first && characters_in(line) + 1 + characters_in(word) > width) {
            lines += line + "\n";
            line = std::string(indent);
        } else if (!is_first) {
            line += ' ';
        }
        line += word;
    }
    return lines + line + "\n";
}

std::string spaced(std::string word) {
    std::replace(word.begin(), word.end(), '_', ' ');
    return word;
}

std::string site_text(const json::Value& entry) {
    if (entry.find("region") == nullptr) return {};
    std::string text = text_at(entry, "side") + " ";
    if (entry.find("level") != nullptr) text += text_at(entry, "level") + " ";
    text += spaced(text_at(entry, "region"));
    if (entry.find("x_cm") != nullptr)
        text += " (" + text_at(entry, "x_cm") + ", " + text_at(entry, "y_cm") + ")";
    return text;
}

}  // namespace nightferry::report
