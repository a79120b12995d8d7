// The part of Outbox that people decide: what becomes of deliveries that were set aside.
#include "daemon/logbook/audit.hpp"
#include "daemon/logbook/outbox.hpp"
#include "daemon/logbook/rows.hpp"

namespace nightferry::logbook {

Result<std::int64_t> Outbox::release(const std::string& clinic, const std::optional<EntryId>& id,
                                     Instant now) {
    auto transaction = Transaction::begin(db_);
    if (!transaction) return transaction.error();
    std::vector<AuditNote> released;
    {
        auto change = db_.prepare(
            // Why it was set aside may be that nobody could tell whether it is there. How often it was tried
            // in vain until then says nothing of how it goes now.
            "UPDATE deliveries SET state = 'waiting', troubled = 0, outcome_unknown = 1, "
            "attempts = min(attempts, 1), changed_us = ?3, wanted_us = ?3 "
            "WHERE clinic = ?1 AND state = 'set_aside' AND (?2 = '' OR entry_id = ?2) "
            "RETURNING entry_id, wanted");
        if (!change) return change.error();
        change->bind(1, clinic).bind(2, id ? id->to_string() : std::string()).bind(3, micros(now));
        while (true) {
            const auto row = change->step();
            if (!row) return row.error();
            if (!*row) break;
            released.push_back({AuditEvent::released, clinic, change->text(0), change->integer(1), {}});
        }
    }
    for (const AuditNote& one : released) {
        const auto noted = note(db_, one, now);
        if (!noted) return noted.error();
    }
    const auto committed = transaction->commit();
    if (!committed) return committed.error();
    return std::ssize(released);
}

Result<bool> Outbox::close(const std::string& clinic, const EntryId& id, const std::string& by,
                           const std::string& reason, Instant now) {
    auto transaction = Transaction::begin(db_);
    if (!transaction) return transaction.error();
    auto keep = db_.prepare(
        "INSERT INTO closings (clinic, entry_id, revision, closed_us, closed_by, reason) "
        "SELECT clinic, entry_id, wanted, ?3, ?4, ?5 FROM deliveries "
        "WHERE clinic = ?1 AND entry_id = ?2 AND state = 'set_aside' RETURNING revision");
    if (!keep) return keep.error();
    keep->bind(1, clinic).bind(2, id.to_string()).bind(3, micros(now)).bind(4, by).bind(5, reason);
    const auto kept = keep->step();
    if (!kept) return kept.error();
    if (!*kept) return false;
    const std::int64_t revision = keep->integer(0);
    const auto ended = keep->step();
    if (!ended) return ended.error();
    const std::string told = "by " + by + " reason " + digest_of(reason);
    const auto noted = note(db_, {AuditEvent::closed, clinic, id.to_string(), revision, told}, now);
    if (!noted) return noted.error();
    auto change = db_.prepare(
        "UPDATE deliveries SET state = 'closed', changed_us = ?3 WHERE clinic = ?1 AND entry_id = ?2");
    if (!change) return change.error();
    const auto changed = change->bind(1, clinic).bind(2, id.to_string()).bind(3, micros(now)).run();
    if (!changed) return changed.error();
    const auto committed = transaction->commit();
    if (!committed) return committed.error();
    return true;
}

}  // namespace nightferry::logbook
