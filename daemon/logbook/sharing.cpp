// The part of Logbook about what each clinic may have: policies that come into force, and what follows.
#include <algorithm>

#include "daemon/entry/vocabulary.hpp"
#include "daemon/logbook/audit.hpp"
#include "daemon/logbook/copied.hpp"
#include "daemon/logbook/logbook.hpp"
#include "daemon/logbook/policies.hpp"
#include "daemon/logbook/rows.hpp"

namespace nightferry::logbook {

namespace {

struct Owed {
    EntryId id;
    std::int64_t revision = 0;
};

// What the policy allows and no delivery is open for, the one that happened first first. What was taken back
// before it ever went there is no news.
Result<std::vector<Owed>> not_owed_yet(Database& db, const std::string& clinic,
                                       const entry::SharingPolicy& policy, Instant from) {
    std::vector<Owed> found;
    for (const std::string& person : policy.terms().persons) {
        auto query = db.prepare(
            "SELECT e.entry_id, e.current_revision, e.kind, e.happened_us FROM entries e "
            "WHERE e.person = ?2 AND e.happened_us >= ?3 AND e.retracted = 0 AND NOT EXISTS (SELECT 1 FROM "
            "deliveries d "
            "WHERE d.clinic = ?1 AND d.entry_id = e.entry_id AND d.state <> 'withdrawn') "
            "ORDER BY e.happened_us, e.entry_id");
        if (!query) return query.error();
        query->bind(1, clinic).bind(2, person).bind(3, micros(from));
        while (true) {
            const auto row = query->step();
            if (!row) return row.error();
            if (!*row) break;
            const std::string id = query->text(0);
            const auto what = shareable_of(db, id, query->text(2), person, query->integer(3));
            if (!what) return what.error();
            if (what->begins < from || policy.why_not(*what)) continue;
            found.push_back({*EntryId::parse(id), query->integer(1)});
        }
    }
    return found;
}

// What still waits, or is set aside, and the clinic may not have any more.
Result<std::vector<Owed>> owed_no_more(Database& db, const std::string& clinic,
                                       const entry::SharingPolicy& policy) {
    auto query = db.prepare(
        "SELECT d.entry_id, d.wanted, e.kind, e.person, e.happened_us, e.retracted AND (d.outcome_unknown OR "
        "d.state = 'set_aside' OR "
        "EXISTS (SELECT 1 FROM receipts r WHERE r.clinic = d.clinic AND r.entry_id = d.entry_id)) "
        "FROM deliveries d JOIN entries e ON e.entry_id = d.entry_id "
        "WHERE d.clinic = ?1 AND d.state IN ('waiting', 'set_aside') ORDER BY d.place");
    if (!query) return query.error();
    query->bind(1, clinic);
    std::vector<Owed> found;
    while (true) {
        const auto row = query->step();
        if (!row) return row.error();
        if (!*row) return found;
        const bool takes_back = query->integer(5) != 0;
        const std::string id = query->text(0);
        const auto what = shareable_of(db, id, query->text(2), query->text(3), query->integer(4));
        if (!what) return what.error();
        if (!takes_back && policy.why_not(*what)) found.push_back({*EntryId::parse(id), query->integer(1)});
    }
}

// Of a clinic that the settings do not name. Settings that leave out all persons, or all kinds, pause what is
// shared, and are something else.
entry::SharingPolicy of_no_clinic() {
    entry::SharingTerms terms;
    terms.kinds.clear();
    return entry::SharingPolicy(std::move(terms));
}

// Of what was set aside nobody knows whether it is there.
Result<void> set_state(Database& db, const std::string& clinic, const Owed& one, DeliveryState state,
                       Instant now) {
    auto change = db.prepare(
        "UPDATE deliveries SET state = ?4, wanted = ?3, troubled = 0, changed_us = ?5, "
        "outcome_unknown = CASE state WHEN 'set_aside' THEN 1 ELSE outcome_unknown OR " +
        std::string(perhaps_sent_in_a_lost_life) +
        " END, wanted_us = ?5 WHERE clinic = ?1 AND entry_id = ?2");
    if (!change) return change.error();
    return change->bind(1, clinic)
        .bind(2, one.id.to_string())
        .bind(3, one.revision)
        .bind(4, word_for(state))
        .bind(5, micros(now))
        .run();
}

}  // namespace

Result<void> Logbook::owe(const std::string& clinic, const EntryId& id, std::int64_t revision,
                          AuditEvent event, Instant now) {
    const auto wanted = want(clinic, id, revision, now);
    if (!wanted) return wanted.error();
    // Where it was withdrawn there is one already.
    const auto opened = set_state(db_, clinic, {id, revision}, DeliveryState::waiting, now);
    if (!opened) return opened.error();
    return note(db_, {event, clinic, id.to_string(), revision, {}}, now);
}

Result<SharingChange> Logbook::share(const std::string& clinic, const entry::SharingPolicy& policy,
                                     Instant now) {
    SharingChange change{clinic};
    const auto before = policies_of(clinic);
    if (!before) return before.error();
    const entry::PolicyInForce* last = before->in_force();
    if (last != nullptr && last->policy == policy) return change;
    policies_.clear();
    auto transaction = Transaction::begin(db_);
    if (!transaction) return transaction.error();
    // One that was gone from the settings comes back as if it were set up for the first time.
    const bool is_set_up = last == nullptr || last->policy == of_no_clinic();
    const auto back_to = is_set_up ? std::optional(Instant::min()) : std::nullopt;
    const auto added = add_policy(db_, clinic, {now, back_to, policy});
    if (!added) return added.error();
    const auto noted = note(db_, {AuditEvent::policy, clinic, {}, 0, policy.text()}, now);
    if (!noted) return noted.error();
    const auto no_more = owed_no_more(db_, clinic, policy);
    if (!no_more) return no_more.error();
    for (const Owed& one : *no_more) {
        const auto stopped = set_state(db_, clinic, one, DeliveryState::withdrawn, now);
        if (!stopped) return stopped.error();
        const auto told =
            note(db_, {AuditEvent::withdrawn, clinic, one.id.to_string(), one.revision, {}}, now);
        if (!told) return told.error();
    }
    change.withdrawn = std::ssize(*no_more);
    if (is_set_up) {
        const auto missing = not_owed_yet(db_, clinic, policy, Instant::min());
        if (!missing) return missing.error();
        for (const Owed& one : *missing) {
            const auto owed = owe(clinic, one.id, one.revision, AuditEvent::owed, now);
            if (!owed) return owed.error();
        }
        change.owed = std::ssize(*missing);
    }
    const auto committed = transaction->commit();
    if (!committed) return committed.error();
    change.is_changed = true;
    return change;
}

Result<std::vector<SharingChange>> Logbook::share_only_with(std::span<const std::string> clinics,
                                                            Instant now) {
    const auto known = clinics_with_policies();
    if (!known) return known.error();
    std::vector<SharingChange> changes;
    for (const std::string& clinic : *known) {
        if (std::find(clinics.begin(), clinics.end(), clinic) != clinics.end()) continue;
        auto change = share(clinic, of_no_clinic(), now);
        if (!change) return change.error();
        if (change->is_changed) changes.push_back(std::move(*change));
    }
    return changes;
}

Result<std::optional<std::int64_t>> Logbook::back_date(const std::string& clinic, Instant to,
                                                       const std::string& by, Instant now) {
    const auto history = policies_of(clinic);
    if (!history) return history.error();
    const entry::PolicyInForce* last = history->in_force();
    if (last == nullptr) return std::optional<std::int64_t>();
    const auto missing = not_owed_yet(db_, clinic, last->policy, to);
    if (!missing) return missing.error();
    policies_.clear();
    auto transaction = Transaction::begin(db_);
    if (!transaction) return transaction.error();
    const auto added = add_policy(db_, clinic, {now, to, last->policy});
    if (!added) return added.error();
    const std::string detail = last->policy.text() + ";back_to=" + to_text(to) + ";by=" + by;
    const auto noted = note(db_, {AuditEvent::policy, clinic, {}, 0, detail}, now);
    if (!noted) return noted.error();
    for (const Owed& one : *missing) {
        const auto owed = owe(clinic, one.id, one.revision, AuditEvent::back_dated, now);
        if (!owed) return owed.error();
    }
    const auto committed = transaction->commit();
    if (!committed) return committed.error();
    return std::optional(std::int64_t{std::ssize(*missing)});
}

Result<std::vector<EntryId>> Logbook::would_be_owed(const std::string& clinic, Instant to) {
    const auto history = policies_of(clinic);
    if (!history) return history.error();
    std::vector<EntryId> ids;
    if (history->in_force() == nullptr) return ids;
    const auto missing = not_owed_yet(db_, clinic, history->in_force()->policy, to);
    if (!missing) return missing.error();
    for (const Owed& one : *missing)
        ids.push_back(one.id);
    return ids;
}

Result<std::vector<std::string>> Logbook::clinics_with_policies() {
    return texts_of(db_, "SELECT DISTINCT clinic FROM sharing_policies ORDER BY clinic");
}

Result<entry::SharingHistory> Logbook::policies_of(const std::string& clinic) {
    return read_policies(db_, clinic);
}

Result<std::vector<Withdrawn>> Logbook::withdrawn(const std::string& clinic, std::size_t limit) {
    const auto history = policies_of(clinic);
    if (!history) return history.error();
    auto query = db_.prepare(
        "SELECT e.entry_id, e.kind, e.person, e.happened_us FROM deliveries d "
        "JOIN entries e ON e.entry_id = d.entry_id WHERE d.clinic = ?1 AND (d.outcome_unknown OR EXISTS "
        "(SELECT 1 FROM receipts r WHERE r.clinic = d.clinic AND r.entry_id = d.entry_id)) "
        "ORDER BY e.happened_us, e.entry_id");
    if (!query) return query.error();
    query->bind(1, clinic);
    std::vector<Withdrawn> found;
    while (found.size() < limit) {
        const auto row = query->step();
        if (!row) return row.error();
        if (!*row) break;
        const std::string id = query->text(0);
        const auto what = shareable_of(db_, id, query->text(1), query->text(2), query->integer(3));
        if (!what) return what.error();
        if (auto why = history->why_not_now(*what)) found.push_back({*EntryId::parse(id), std::move(*why)});
    }
    return found;
}

}  // namespace nightferry::logbook
