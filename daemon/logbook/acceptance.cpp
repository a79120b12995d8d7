#include "daemon/logbook/acceptance.hpp"

#include <algorithm>

#include "daemon/entry/body.hpp"
#include "daemon/entry/revisions.hpp"

namespace nightferry::logbook {

namespace {

Verdict conflict(std::string words) {
    return {Verdict::Kind::conflict, 0, false, false, std::move(words)};
}

bool is_dose(entry::Kind kind) {
    return kind == entry::Kind::dose_given || kind == entry::Kind::dose_not_given;
}

// A dose given and a dose not given are two states of one record; nothing else may change its nature.
bool may_become(entry::Kind from, entry::Kind to) {
    return from == to || (is_dose(from) && is_dose(to));
}

bool in_order(const KnownRevision& a, const KnownRevision& b) {
    return entry::takes_effect_over(b.submission, a.submission);
}

}  // namespace

const KnownRevision& current_of(const std::vector<KnownRevision>& known) {
    return *std::max_element(known.begin(), known.end(), in_order);
}

Verdict judge(const std::vector<KnownRevision>& known, const entry::Submission& incoming) {
    if (known.empty()) {
        if (incoming.action == entry::Action::record) return {Verdict::Kind::add, 1, true, false, {}};
        return conflict(
            "no entry with this id is in the logbook; hand in the entry itself first, or check the id");
    }
    const bool retracted = std::any_of(known.begin(), known.end(), [](const KnownRevision& one) {
        return one.submission.action == entry::Action::retract;
    });
    const std::string says = entry::essence(incoming);
    for (const KnownRevision& one : known) {
        if (entry::essence(one.submission) == says) {
            return {Verdict::Kind::already_there, one.revision, false, retracted, {}};
        }
    }
    if (incoming.action == entry::Action::record) {
        return conflict(
            "an entry with this id is in the logbook and says something else; nothing was changed. To "
            "correct it, hand in the whole entry with action amend and its id " +
            incoming.id.to_string() + "; if this is another event, give it an id of its own");
    }
    if (retracted) return conflict("this entry was retracted before; record a new entry instead");
    const entry::Entry& now = *current_of(known).submission.entry;
    if (now.kind() == entry::Kind::summary && !incoming.recorded_by.empty()) {
        return conflict(
            "the hub makes its summaries itself; amend or retract the entries that it counts, and it makes a "
            "new one");
    }
    if (incoming.entry) {
        if (incoming.entry->person != now.person) {
            return conflict(
                "an amendment cannot move an entry to another person; retract it and record a new one");
        }
        if (!may_become(now.kind(), incoming.entry->kind())) {
            return conflict(
                "an amendment cannot change what kind of entry it is; retract it and record a new one");
        }
    }
    const auto highest = std::max_element(
        known.begin(), known.end(),
        [](const KnownRevision& a, const KnownRevision& b) { return a.revision < b.revision; });
    const KnownRevision added{highest->revision + 1, incoming};
    return {Verdict::Kind::add, added.revision, in_order(current_of(known), added), false, {}};
}

}  // namespace nightferry::logbook
