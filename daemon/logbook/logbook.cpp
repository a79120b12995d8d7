#include "daemon/logbook/logbook.hpp"

#include "daemon/entry/body.hpp"
#include "daemon/entry/vocabulary.hpp"
#include "daemon/logbook/audit.hpp"
#include "daemon/logbook/rows.hpp"

namespace nightferry::logbook {

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
    const auto listed = store_entry(submission, verdict);
    if (!listed) return listed.error();
    auto revision = db_.prepare(
        "INSERT INTO revisions (entry_id, revision, accepted_us, source, body) "
        "VALUES (?1, ?2, ?3, ?4, ?5)");
    if (!revision) return revision.error();
    const auto kept = revision->bind(1, submission.id.to_string())
                          .bind(2, verdict.revision)
                          .bind(3, micros(now))
                          .bind(4, arrival.source)
                          .bind(5, entry::to_body(submission))
                          .run();
    if (!kept) return kept.error();
    std::string detail = arrival.source;
    if (verdict.becomes_current) {
        const auto opened = open_ways(arrival, verdict, now);
        if (!opened) return opened.error();
        for (const std::string& clinic : *opened)
            detail += " for " + clinic;
    }
    const AuditEvent event = submission.action == entry::Action::record  ? AuditEvent::accepted
                             : submission.action == entry::Action::amend ? AuditEvent::amended
                                                                         : AuditEvent::retracted;
    const auto noted =
        note(db_, {event, {}, submission.id.to_string(), verdict.revision, std::move(detail)}, now);
    if (!noted || !verdict.becomes_current || verdict.revision == 1) return noted;
    return renew_ways(submission, verdict.revision, now);
}

Result<void> Logbook::store_entry(const entry::Submission& submission, const Verdict& verdict) {
    const std::string id = submission.id.to_string();
    if (verdict.revision == 1) {
        const entry::Entry& content = *submission.entry;
        auto add = db_.prepare(
            "INSERT INTO entries (entry_id, kind, person, happened_us, current_revision, retracted) "
            "VALUES (?1, ?2, ?3, ?4, 1, 0)");
        if (!add) return add.error();
        return add->bind(1, id)
            .bind(2, entry::word_for(content.kind()))
            .bind(3, content.person)
            .bind(4, micros(content.time.at))
            .run();
    }
    if (!verdict.becomes_current) return {};
    auto change = db_.prepare(
        "UPDATE entries SET current_revision = ?2, retracted = ?3, "
        "kind = coalesce(?4, kind), happened_us = coalesce(?5, happened_us) WHERE entry_id = ?1");
    if (!change) return change.error();
    change->bind(1, id).bind(2, verdict.revision).bind(3, submission.entry ? 0 : 1);
    if (submission.entry) {
        change->bind(4, entry::word_for(submission.entry->kind())).bind(5, micros(submission.entry->time.at));
    } else {
        change->bind_null(4).bind_null(5);
    }
    return change->run();
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
