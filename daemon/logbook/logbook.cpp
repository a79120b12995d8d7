#include "daemon/logbook/logbook.hpp"

#include <algorithm>

#include "daemon/entry/body.hpp"
#include "daemon/entry/vocabulary.hpp"
#include "daemon/logbook/pins.hpp"
#include "daemon/logbook/rows.hpp"

namespace nightferry::logbook {

namespace {

// Under which it is remembered whose entries a clinic was owed last.
std::string shared_pin(const std::string& clinic) {
    return "shared:" + clinic;
}

}  // namespace

Result<std::vector<Verdict>> Logbook::accept(std::span<const Arrival> arrivals, Instant now, Bond bond) {
    auto transaction = Transaction::begin(db_);
    if (!transaction) return transaction.error();
    std::vector<Verdict> verdicts;
    for (const Arrival& arrival : arrivals) {
        auto verdict = accept_one(arrival, now);
        if (!verdict) return verdict.error();
        verdicts.push_back(std::move(*verdict));
    }
    const bool any_conflict = std::any_of(verdicts.begin(), verdicts.end(), [](const Verdict& one) {
        return one.kind == Verdict::Kind::conflict;
    });
    if (bond == Bond::all_or_none && any_conflict) return verdicts;
    const auto committed = transaction->commit();
    if (!committed) return committed.error();
    for (const Verdict& verdict : verdicts)
        additions_ += verdict.kind == Verdict::Kind::add ? 1 : 0;
    return verdicts;
}

Result<Verdict> Logbook::accept_one(const Arrival& arrival, Instant now) {
    const auto before = revisions_of(db_, arrival.submission.id.to_string());
    if (!before && before.error().code == Errc::unreadable) {
        return Verdict{Verdict::Kind::conflict, 0, false, false,
                       "the logbook holds an entry with this id that it cannot read any more; restore a "
                       "backup, or record "
                       "this under another id"};
    }
    if (!before) return before.error();
    Verdict verdict = judge(*before, arrival.submission);
    if (verdict.kind != Verdict::Kind::add) return verdict;
    const auto stored = store(arrival, verdict, now);
    if (!stored) return stored.error();
    return verdict;
}

Result<void> Logbook::store(const Arrival& arrival, const Verdict& verdict, Instant now) {
    const entry::Submission& submission = arrival.submission;
    const std::string id = submission.id.to_string();
    if (verdict.revision == 1) {
        const entry::Entry& content = *submission.entry;
        auto add = db_.prepare(
            "INSERT INTO entries (entry_id, kind, person, happened_us, current_revision, retracted) "
            "VALUES (?1, ?2, ?3, ?4, 1, 0)");
        if (!add) return add.error();
        const auto added = add->bind(1, id)
                               .bind(2, entry::word_for(content.kind()))
                               .bind(3, content.person)
                               .bind(4, micros(content.time.at))
                               .run();
        if (!added) return added.error();
    } else if (verdict.becomes_current) {
        auto change = db_.prepare(
            "UPDATE entries SET current_revision = ?2, retracted = ?3, "
            "kind = coalesce(?4, kind), happened_us = coalesce(?5, happened_us) WHERE entry_id = ?1");
        if (!change) return change.error();
        change->bind(1, id).bind(2, verdict.revision).bind(3, submission.entry ? 0 : 1);
        if (submission.entry) {
            change->bind(4, entry::word_for(submission.entry->kind()))
                .bind(5, micros(submission.entry->time.at));
        } else {
            change->bind_null(4).bind_null(5);
        }
        const auto changed = change->run();
        if (!changed) return changed.error();
    }
    auto revision = db_.prepare(
        "INSERT INTO revisions (entry_id, revision, accepted_us, source, body) "
        "VALUES (?1, ?2, ?3, ?4, ?5)");
    if (!revision) return revision.error();
    const auto kept = revision->bind(1, id)
                          .bind(2, verdict.revision)
                          .bind(3, micros(now))
                          .bind(4, arrival.source)
                          .bind(5, entry::to_body(submission))
                          .run();
    if (!kept) return kept.error();
    if (!verdict.becomes_current) return {};
    for (const std::string& clinic : arrival.clinics) {
        const auto wanted = want(clinic, submission.id, verdict.revision, now);
        if (!wanted) return wanted.error();
    }
    // A retraction names no person, and a clinic may have been taken out of the settings: every way that was
    // ever opened for this entry wants the new revision too.
    auto others = db_.prepare(
        "UPDATE deliveries SET wanted = ?2, wanted_us = ?3, changed_us = ?3, "
        "outcome_unknown = CASE state WHEN 'set_aside' THEN 1 WHEN 'closed' THEN 1 ELSE outcome_unknown END, "
        "troubled = 0, state = CASE state WHEN 'under_way' THEN state ELSE 'waiting' END "
        "WHERE entry_id = ?1 AND wanted <> ?2");
    if (!others) return others.error();
    return others->bind(1, id).bind(2, verdict.revision).bind(3, micros(now)).run();
}

Result<void> Logbook::want(const std::string& clinic, const EntryId& id, std::int64_t revision, Instant now) {
    auto add = db_.prepare(
        "INSERT INTO deliveries (clinic, entry_id, place, wanted, state, attempts, outcome_unknown, "
        "words, changed_us, wanted_us) VALUES (?1, ?2, (SELECT coalesce(max(place), 0) + 1 FROM deliveries "
        "WHERE clinic "
        "= ?1), "
        "?3, 'waiting', 0, 0, '', ?4, (SELECT accepted_us FROM revisions WHERE entry_id = ?2 AND revision = "
        "?3)) ON CONFLICT DO NOTHING");
    if (!add) return add.error();
    return add->bind(1, clinic).bind(2, id.to_string()).bind(3, revision).bind(4, micros(now)).run();
}

Result<void> Logbook::share_only_with(std::span<const std::string> clinics) {
    auto others = db_.prepare("SELECT name FROM pins WHERE name >= ?1 AND name < ?1 || x'ff'");
    if (!others) return others.error();
    others->bind(1, shared_pin(""));
    std::vector<std::string> gone;
    while (true) {
        const auto row = others->step();
        if (!row) return row.error();
        if (!*row) break;
        const std::string name = others->text(0);
        const bool is_known = std::any_of(clinics.begin(), clinics.end(), [&](const std::string& clinic) {
            return name == shared_pin(clinic);
        });
        if (!is_known) gone.push_back(name);
    }
    for (const std::string& name : gone) {
        auto forget = db_.prepare("DELETE FROM pins WHERE name = ?1");
        if (!forget) return forget.error();
        const auto forgotten = forget->bind(1, name).run();
        if (!forgotten) return forgotten.error();
    }
    return {};
}

Result<std::int64_t> Logbook::owe(const std::string& clinic, std::span<const std::string> persons,
                                  Instant now) {
    // Since these were owed everything, every entry of theirs got its delivery as it was accepted.
    std::string shared;
    for (const std::string& person : persons)
        shared += person + " ";
    const auto known = remembered(db_, shared_pin(clinic));
    if (!known) return known.error();
    if (*known == shared) return 0;
    auto transaction = Transaction::begin(db_);
    if (!transaction) return transaction.error();
    std::int64_t added = 0;
    for (const std::string& person : persons) {
        auto query = db_.prepare(
            "SELECT e.entry_id, e.current_revision FROM entries e WHERE e.person = ?2 AND NOT EXISTS "
            "(SELECT 1 FROM deliveries d WHERE d.clinic = ?1 AND d.entry_id = e.entry_id) "
            "ORDER BY e.happened_us, e.entry_id");
        if (!query) return query.error();
        query->bind(1, clinic).bind(2, person);
        while (true) {
            const auto row = query->step();
            if (!row) return row.error();
            if (!*row) break;
            const auto wanted = want(clinic, *EntryId::parse(query->text(0)), query->integer(1), now);
            if (!wanted) return wanted.error();
            ++added;
        }
    }
    const auto noted = remember(db_, shared_pin(clinic), shared);
    if (!noted) return noted.error();
    const auto committed = transaction->commit();
    if (!committed) return committed.error();
    return added;
}

Result<std::optional<EntryRecord>> Logbook::find(const EntryId& id) {
    auto versions = versions_of(db_, id.to_string());
    if (!versions) return versions.error();
    if (versions->empty()) return std::optional<EntryRecord>();
    EntryRecord record{in_effect(*versions), std::move(*versions), {}};
    auto query = db_.prepare(
        "SELECT clinic, state, wanted, attempts, words, changed_us FROM deliveries "
        "WHERE entry_id = ?1 ORDER BY clinic");
    if (!query) return query.error();
    query->bind(1, id.to_string());
    while (true) {
        const auto row = query->step();
        if (!row) return row.error();
        if (!*row) break;
        Delivery delivery{query->text(0),
                          id,
                          state_from(query->text(1)),
                          query->integer(2),
                          static_cast<int>(query->integer(3)),
                          query->text(4),
                          instant_from(query->integer(5)),
                          {},
                          {}};
        auto receipts = receipts_of(db_, delivery.clinic, id.to_string());
        if (!receipts) return receipts.error();
        delivery.receipts = std::move(*receipts);
        auto closings = closings_of(db_, delivery.clinic, id.to_string());
        if (!closings) return closings.error();
        delivery.closings = std::move(*closings);
        record.deliveries.push_back(std::move(delivery));
    }
    return std::optional(std::move(record));
}

Result<Listing> Logbook::list(const Filter& filter) {
    // Two queries, so that each goes through what it shows and no more.
    const std::string whose = filter.person.empty() ? "?1 = ''" : "person = ?1";
    auto query = db_.prepare("SELECT entry_id FROM entries WHERE " + whose +
                             " AND happened_us >= ?2 AND happened_us < ?3 AND (?5 OR kind <> 'summary') "
                             "ORDER BY happened_us DESC, entry_id LIMIT ?4");
    if (!query) return query.error();
    query->bind(1, filter.person)
        .bind(2, filter.from ? micros(*filter.from) : INT64_MIN)
        .bind(3, filter.to ? micros(*filter.to) : INT64_MAX)
        .bind(4, filter.limit)
        .bind(5, std::int64_t{filter.summaries});
    Listing listing;
    while (true) {
        const auto row = query->step();
        if (!row) return row.error();
        if (!*row) return listing;
        const EntryId id = *EntryId::parse(query->text(0));
        auto record = find(id);
        if (!record && record.error().code == Errc::unreadable) {
            listing.unreadable.push_back(id);
            continue;
        }
        if (!record) return record.error();
        if (*record) listing.records.push_back(std::move(**record));
    }
}

Result<PersonHistory> Logbook::history(const std::string& person) {
    auto query = db_.prepare(
        "SELECT e.entry_id, r.revision, r.accepted_us, r.body FROM entries e INDEXED BY entries_by_person "
        "JOIN revisions r ON r.entry_id = e.entry_id WHERE e.person = ?1 ORDER BY e.entry_id, r.revision");
    if (!query) return query.error();
    query->bind(1, person);
    return read_history(*query);
}

}  // namespace nightferry::logbook
