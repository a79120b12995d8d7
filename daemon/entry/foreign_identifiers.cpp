#include "daemon/entry/foreign_identifiers.hpp"

#include <algorithm>

#include "daemon/core/words.hpp"

namespace nightferry::entry {

namespace {

bool is_absolute_uri(std::string_view text) {
    const auto colon = text.find(':');
    return colon != std::string_view::npos && colon > 0 && colon + 1 < text.size() &&
           text.find_first_of(" \t|") == std::string_view::npos;
}

}  // namespace

bool can_be_written(const ForeignIdentifier& identifier) {
    return (identifier.system.empty() || is_absolute_uri(identifier.system)) && !identifier.value.empty() &&
           trimmed(identifier.value) == identifier.value && is_plain_text(identifier.value, false);
}

std::string lines_of(const std::vector<ForeignIdentifier>& identifiers) {
    std::string lines;
    for (const ForeignIdentifier& one : identifiers)
        lines += (lines.empty() ? "" : "\n") + one.system + "|" + one.value;
    return lines;
}

std::optional<std::vector<ForeignIdentifier>> identifiers_in(std::string_view lines) {
    std::vector<ForeignIdentifier> found;
    while (!lines.empty()) {
        const std::string_view line = trimmed(lines.substr(0, lines.find('\n')));
        lines.remove_prefix(std::min(lines.find('\n'), lines.size() - 1) + 1);
        const auto bar = line.find('|');
        if (bar == std::string_view::npos) return std::nullopt;
        ForeignIdentifier one{std::string(line.substr(0, bar)), std::string(line.substr(bar + 1))};
        if (!can_be_written(one) || std::find(found.begin(), found.end(), one) != found.end())
            return std::nullopt;
        found.push_back(std::move(one));
    }
    return found;
}

}  // namespace nightferry::entry
