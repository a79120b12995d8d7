// The part of Logbook about an entry's ways to the clinics: which are opened for what arrives, and which want
// its new revision.
#include "daemon/logbook/audit.hpp"
#include "daemon/logbook/copied.hpp"
#include "daemon/logbook/logbook.hpp"
#include "daemon/logbook/policies.hpp"
#include "daemon/logbook/rows.hpp"

namespace nightferry::logbook {

namespace {

struct Way {
    std::string clinic;
    DeliveryState state = DeliveryState::waiting;
    bool may_be_there = false;
    bool was_sent = false;  // The clinic has confirmed it.
};

Result<std::vector<Way>> ways_of(Database& db, const std::string& id, std::int64_t except) {
    auto query = db.prepare(
        "SELECT d.clinic, d.state, d.outcome_unknown, EXISTS (SELECT 1 FROM receipts r "
        "WHERE r.clinic = d.clinic AND r.entry_id = d.entry_id) "
        "FROM deliveries d WHERE d.entry_id = ?1 AND d.wanted <> ?2");
    if (!query) return query.error();
    query->bind(1, id).bind(2, except);
    std::vector<Way> ways;
    while (true) {
        const auto row = query->step();
        if (!row) return row.error();
        if (!*row) return ways;
        const DeliveryState state = state_from(query->text(1));
        const bool was_sent = query->integer(3) != 0;
        // What was set aside or closed may have got there as well.
        const bool in_doubt = query->integer(2) != 0 || state == DeliveryState::under_way ||
                              state == DeliveryState::set_aside || state == DeliveryState::closed;
        ways.push_back({query->text(0), state, was_sent || in_doubt, was_sent});
    }
}

// Nothing has one that comes for the first time.
Result<bool> has_way(Database& db, const std::string& clinic, const EntryId& id, std::int64_t revision) {
    if (revision == 1) return false;
    auto query = db.prepare("SELECT 1 FROM deliveries WHERE clinic = ?1 AND entry_id = ?2");
    if (!query) return query.error();
    return query->bind(1, clinic).bind(2, id.to_string()).step();
}

}  // namespace

Result<const entry::SharingHistory*> Logbook::history_of(const std::string& clinic) {
    auto known = policies_.find(clinic);
    if (known == policies_.end()) {
        auto read = read_policies(db_, clinic);
        if (!read) return read.error();
        known = policies_.emplace(clinic, std::move(*read)).first;
    }
    return &known->second;
}

Result<std::vector<std::string>> Logbook::open_ways(const Arrival& arrival, const Verdict& verdict,
                                                    Instant now) {
    std::vector<std::string> opened;
    const entry::Submission& submission = arrival.submission;
    if (!submission.entry) return opened;
    const entry::Shareable what = entry::shareable(*submission.entry);
    for (const std::string& clinic : arrival.clinics) {
        const auto is_open = has_way(db_, clinic, submission.id, verdict.revision);
        if (!is_open) return is_open.error();
        if (*is_open) continue;
        const auto history = history_of(clinic);
        if (!history) return history.error();
        // What arrives now is recorded under the policy in force, whatever the clock shows.
        auto why_not = (*history)->why_not_now(what);
        if (!why_not && verdict.revision > 1) {
            const auto recorded = first_accepted(db_, submission.id.to_string());
            if (!recorded) return recorded.error();
            why_not = (*history)->why_not(what, *recorded);
        }
        if (why_not) continue;
        const auto wanted = want(clinic, submission.id, verdict.revision, now);
        if (!wanted) return wanted.error();
        opened.push_back(clinic);
    }
    return opened;
}

// A retraction names no person, and a clinic may have been taken out of the settings: every way that was ever
// opened for this entry wants the new revision too, unless the clinic is not to have it any more. That it
// was recorded in error is told all the same where it may be.
Result<void> Logbook::renew_ways(const entry::Submission& submission, std::int64_t revision, Instant now) {
    const std::string id = submission.id.to_string();
    const auto ways = ways_of(db_, id, revision);
    if (!ways) return ways.error();
    const auto what = shareable_in(db_, id, submission.entry ? &*submission.entry : nullptr);
    if (!what) return what.error();
    const auto recorded = first_accepted(db_, id);
    if (!recorded) return recorded.error();
    for (const Way& way : *ways) {
        const auto history = history_of(way.clinic);
        if (!history) return history.error();
        // What the clinic has is kept right there; what was withdrawn before it came does not come with an
        // amendment.
        const bool starts_anew = way.state == DeliveryState::withdrawn && !way.was_sent;
        const bool may_have =
            starts_anew ? !(*history)->why_not(*what, *recorded) : !(*history)->why_not_now(*what);
        const bool takes_back = !submission.entry && way.may_be_there;
        const bool goes = may_have || takes_back;
        auto change = db_.prepare(
            "UPDATE deliveries SET wanted = ?3, wanted_us = ?4, changed_us = ?4, outcome_unknown = CASE "
            "state "
            "WHEN 'set_aside' THEN 1 WHEN 'closed' THEN 1 ELSE outcome_unknown END, troubled = 0, "
            "state = CASE state WHEN 'under_way' THEN state ELSE ?5 END WHERE clinic = ?1 AND entry_id = ?2");
        if (!change) return change.error();
        const auto changed = change->bind(1, way.clinic)
                                 .bind(2, id)
                                 .bind(3, revision)
                                 .bind(4, micros(now))
                                 .bind(5, word_for(goes ? DeliveryState::waiting : DeliveryState::withdrawn))
                                 .run();
        if (!changed) return changed.error();
        if (goes || way.state == DeliveryState::under_way) continue;
        const auto noted = note(db_, {AuditEvent::withdrawn, way.clinic, id, revision, {}}, now);
        if (!noted) return noted.error();
    }
    return {};
}

Result<void> Logbook::want(const std::string& clinic, const EntryId& id, std::int64_t revision, Instant now) {
    auto add = db_.prepare(
        "INSERT INTO deliveries (clinic, entry_id, place, wanted, state, attempts, outcome_unknown, "
        "words, changed_us, wanted_us) VALUES (?1, ?2, (SELECT coalesce(max(place), 0) + 1 FROM deliveries "
        "WHERE clinic = ?1), ?3, 'waiting', 0, " +
        std::string(perhaps_sent_in_a_lost_life) + ", '', ?4, ?4) ON CONFLICT DO NOTHING");
    if (!add) return add.error();
    return add->bind(1, clinic).bind(2, id.to_string()).bind(3, revision).bind(4, micros(now)).run();
}

}  // namespace nightferry::logbook
