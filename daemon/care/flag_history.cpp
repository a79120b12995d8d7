#include "daemon/care/flag_history.hpp"

#include <algorithm>
#include <array>
#include <set>

namespace nightferry::care {

namespace {

constexpr std::array events{
    std::pair{FlagEventKind::raised, std::string_view("raised")},
    std::pair{FlagEventKind::cleared, std::string_view("cleared")},
    std::pair{FlagEventKind::settled, std::string_view("settled")},
};

}  // namespace

std::string_view word_for(FlagEventKind kind) {
    return std::ranges::find(events, kind, [](const auto& one) { return one.first; })->second;
}

std::optional<FlagEventKind> flag_event(std::string_view word) {
    const auto found = std::ranges::find(events, word, [](const auto& one) { return one.second; });
    return found == events.end() ? std::nullopt : std::optional(found->first);
}

std::vector<FlagEvent> changes_of(const FlagHistory& history, std::span<const Flag> arising, Instant now) {
    std::vector<FlagEvent> changes;
    std::set<std::string_view> keys;
    for (const Flag& flag : arising) {
        if (!keys.insert(flag.key).second) continue;
        const auto known = history.find(flag.key);
        if (known != history.end() && known->second.back().what != FlagEventKind::cleared) continue;
        changes.push_back(
            {flag.key, FlagEventKind::raised, now, flag.level, flag.about, flag.reason, {}, {}});
    }
    for (const auto& [key, past] : history) {
        if (past.back().what == FlagEventKind::cleared || keys.contains(key)) continue;
        FlagEvent cleared = past.back();
        cleared.what = FlagEventKind::cleared;
        cleared.at = now;
        cleared.by.clear();
        cleared.words.clear();
        changes.push_back(std::move(cleared));
    }
    return changes;
}

bool is_open(const FlagHistory& history, const std::string& key) {
    const auto known = history.find(key);
    return known != history.end() && known->second.back().what == FlagEventKind::raised;
}

}  // namespace nightferry::care
