#include "daemon/entry/sharing_policy.hpp"

#include <algorithm>
#include <array>

#include "daemon/core/words.hpp"
#include "daemon/entry/vocabulary.hpp"

namespace nightferry::entry {

namespace {

template <class Items, class Word>
std::string joined(const Items& items, const Word& word) {
    std::string text;
    for (const auto& item : items)
        text += (text.empty() ? "" : ",") + std::string(word(item));
    return text;
}

std::vector<std::string_view> parts_of(std::string_view text, char between) {
    std::vector<std::string_view> parts;
    while (!text.empty()) {
        const auto end = std::min(text.find(between), text.size());
        parts.push_back(text.substr(0, end));
        text.remove_prefix(std::min(end + 1, text.size()));
    }
    return parts;
}

// The part's value when it bears this name.
std::optional<std::string_view> value_of(std::string_view part, std::string_view name) {
    if (!part.starts_with(name) || part.substr(name.size(), 1) != "=") return std::nullopt;
    return part.substr(name.size() + 1);
}

std::string day_of(const Moment& moment) {
    return to_text(moment).substr(0, 10);
}

}  // namespace

Shareable shareable(const Entry& entry) {
    const auto* summary = std::get_if<Summary>(&entry.what);
    return {entry.person, entry.kind(), summary == nullptr ? entry.time.at : summary->begins.at};
}

std::optional<std::string> SharingPolicy::why_not(const Shareable& what) const {
    if (!terms_.persons.contains(what.person))
        return in_quotes(what.person) + " is not shared with this clinic";
    if (!terms_.kinds.contains(what.kind))
        return "entries of the kind " + std::string(word_for(what.kind)) + " are not shared with this clinic";
    if (terms_.from && what.begins < terms_.from->at) {
        const std::string begins = what.kind == Kind::summary ? "what it tells of began" : "it happened";
        return begins + " before " + day_of(*terms_.from) + ", from when on this clinic may have entries";
    }
    return std::nullopt;
}

std::string SharingPolicy::text() const {
    return "persons=" + joined(terms_.persons, [](const std::string& key) { return key; }) +
           ";kinds=" + joined(terms_.kinds, [](Kind kind) { return word_for(kind); }) +
           ";from=" + (terms_.from ? to_text(*terms_.from) : std::string()) +
           ";notes=" + (terms_.notes ? "yes" : "no");
}

Result<SharingPolicy> SharingPolicy::read(std::string_view text) {
    const Error unreadable{Errc::unreadable,
                           "a sharing policy in the logbook has a form this version does not know"};
    const std::vector<std::string_view> parts = parts_of(text, ';');
    constexpr std::array<std::string_view, 4> names{"persons", "kinds", "from", "notes"};
    if (parts.size() != names.size()) return unreadable;
    std::array<std::string_view, 4> values;
    for (std::size_t i = 0; i < names.size(); ++i) {
        const auto value = value_of(parts[i], names[i]);
        if (!value) return unreadable;
        values[i] = *value;
    }
    SharingTerms terms;
    terms.kinds.clear();
    for (const std::string_view person : parts_of(values[0], ','))
        terms.persons.emplace(person);
    for (const std::string_view word : parts_of(values[1], ',')) {
        const auto kind = meaning_of<Kind>(word);
        if (!kind) return unreadable;
        terms.kinds.insert(*kind);
    }
    if (!values[2].empty()) {
        const auto from = parse_moment(values[2]);
        if (!from) return unreadable;
        terms.from = *from;
    }
    if (values[3] != "yes" && values[3] != "no") return unreadable;
    terms.notes = values[3] == "yes";
    return SharingPolicy(std::move(terms));
}

std::optional<std::string> SharingHistory::why_not_now(const Shareable& what) const {
    return policies_.empty() ? std::nullopt : policies_.back().policy.why_not(what);
}

std::optional<std::string> SharingHistory::why_not(const Shareable& what, Instant recorded) const {
    if (const auto now = why_not_now(what)) return now;
    for (auto one = policies_.rbegin(); one != policies_.rend(); ++one) {
        if (one->policy.why_not(what)) {
            return "it was recorded before this clinic was to have it, which is since " +
                   to_text(std::chrono::floor<std::chrono::seconds>(one.base()->since));
        }
        const bool reaches_back = one->back_to && what.begins >= *one->back_to;
        if (one->since <= recorded || reaches_back) return std::nullopt;
    }
    return std::nullopt;
}

bool SharingHistory::with_notes(const Shareable& what, Instant accepted) const {
    for (auto one = policies_.rbegin(); one != policies_.rend(); ++one) {
        if (!one->policy.with_notes()) return false;
        const bool reaches_back = one->back_to && what.begins >= *one->back_to;
        if (one->since <= accepted || reaches_back) return true;
    }
    return true;
}

bool SharingHistory::ever_had_notes() const {
    return policies_.empty() || std::any_of(policies_.begin(), policies_.end(),
                                            [](const PolicyInForce& one) { return one.policy.with_notes(); });
}

bool SharingHistory::ever_left_notes_out() const {
    return std::any_of(policies_.begin(), policies_.end(),
                       [](const PolicyInForce& one) { return !one.policy.with_notes(); });
}

}  // namespace nightferry::entry
