#include "tests/sim/wishes.hpp"

#include <algorithm>

namespace nightferry::sim {

namespace {

entry::SharingTerms all_terms() {
    entry::SharingTerms terms;
    terms.persons = {"juniper"};
    return terms;
}

bool allows(const entry::SharingPolicy& policy, entry::Kind kind) {
    return policy.terms().persons.contains("juniper") && policy.terms().kinds.contains(kind);
}

}  // namespace

entry::SharingPolicy everything() {
    return entry::SharingPolicy(all_terms());
}

entry::SharingPolicy draw_policy(Dice& dice) {
    entry::SharingTerms terms = all_terms();
    const std::uint64_t drawn = dice.below(6);
    if (drawn == 0) return everything();
    if (drawn == 1) return {};
    terms.notes = dice.below(2) == 0;
    for (const entry::Kind kind : {entry::Kind::dose_given, entry::Kind::finding, entry::Kind::weight}) {
        if (dice.below(3) == 0) terms.kinds.erase(kind);
    }
    return entry::SharingPolicy(std::move(terms));
}

void Wishes::may_come_into_force() {
    if (lives_.empty() || !(lives_.back().policy == newest_)) lives_.push_back({newest_});
}

void Wishes::came_into_force(Span now) {
    for (Life& one : lives_) {
        if (&one != &lives_.back()) one.until = std::min(one.until, now);
    }
}

bool Wishes::allowed(entry::Kind kind, Span since) const {
    return std::any_of(lives_.begin(), lives_.end(),
                       [&](const Life& one) { return one.until > since && allows(one.policy, kind); });
}

bool Wishes::allowed_notes(Span since) const {
    return std::any_of(lives_.begin(), lives_.end(),
                       [&](const Life& one) { return one.until > since && one.policy.with_notes(); });
}

bool Wishes::always_allowed(entry::Kind kind, Span since) const {
    return std::all_of(lives_.begin(), lives_.end(),
                       [&](const Life& one) { return one.until <= since || allows(one.policy, kind); });
}

bool Wishes::ever_left_notes_out() const {
    return std::any_of(lives_.begin(), lives_.end(),
                       [](const Life& one) { return !one.policy.with_notes(); });
}

}  // namespace nightferry::sim
