// The part of Outbox that stores what became of what was sent.
#include "daemon/logbook/audit.hpp"
#include "daemon/logbook/outbox.hpp"
#include "daemon/logbook/rows.hpp"

namespace nightferry::logbook {

namespace {

DeliveryState state_after(Settlement::Fate fate) {
    switch (fate) {
        case Settlement::Fate::again:
            return DeliveryState::waiting;
        case Settlement::Fate::confirmed:
            return DeliveryState::confirmed;
        case Settlement::Fate::set_aside:
            return DeliveryState::set_aside;
        case Settlement::Fate::withdrawn:
            return DeliveryState::withdrawn;
    }
    return DeliveryState::waiting;
}

}  // namespace

Result<void> Outbox::settle(const std::string& clinic, std::span<const Settlement> settlements,
                            const ClinicState& state, Instant now) {
    auto transaction = Transaction::begin(db_);
    if (!transaction) return transaction.error();
    for (const Settlement& one : settlements) {
        const auto settled = settle_one(clinic, one, now);
        if (!settled) return settled.error();
    }
    const auto saved = save(clinic, state);
    if (!saved) return saved.error();
    return transaction->commit();
}

Result<void> Outbox::keep_receipt(const std::string& clinic, const Settlement& settlement) {
    const Receipt& receipt = *settlement.receipt;
    auto keep = db_.prepare(
        "INSERT OR REPLACE INTO receipts (clinic, entry_id, revision, resource_type, resource_id, "
        "version_id, http_status, received_us, number, written_after) SELECT ?1, ?2, ?3, ?4, ?5, ?6, ?7, "
        "?8, n + 1, CASE ?9 WHEN 0 THEN n WHEN 1 THEN since ELSE 0 END "
        "FROM (SELECT coalesce(max(number), 0) AS n FROM receipts WHERE clinic = ?1), deliveries "
        "WHERE clinic = ?1 AND entry_id = ?2");
    if (!keep) return keep.error();
    return keep->bind(1, clinic)
        .bind(2, settlement.id.to_string())
        .bind(3, settlement.revision)
        .bind(4, receipt.resource_type)
        .bind(5, receipt.resource_id)
        .bind(6, receipt.version_id)
        .bind(7, receipt.http_status)
        .bind(8, micros(receipt.received))
        .bind(9, static_cast<std::int64_t>(receipt.written))
        .run();
}

Result<void> Outbox::note_settled(const std::string& clinic, const Settlement& settlement, Instant now) {
    AuditNote told{AuditEvent::set_aside, clinic, settlement.id.to_string(), settlement.revision, {}};
    switch (settlement.fate) {
        case Settlement::Fate::again:
            return {};
        case Settlement::Fate::confirmed: {
            const Receipt& receipt = *settlement.receipt;
            told.event = AuditEvent::confirmed;
            told.detail = receipt.resource_type + "/" + receipt.resource_id;
            if (!receipt.version_id.empty()) told.detail += "/_history/" + receipt.version_id;
            break;
        }
        case Settlement::Fate::withdrawn:
            told.event = AuditEvent::withdrawn;
            break;
        case Settlement::Fate::set_aside:
            break;
    }
    return note(db_, told, now);
}

Result<void> Outbox::settle_one(const std::string& clinic, const Settlement& settlement, Instant now) {
    const std::string id = settlement.id.to_string();
    if (settlement.fate == Settlement::Fate::confirmed) {
        const auto kept = keep_receipt(clinic, settlement);
        if (!kept) return kept.error();
    }
    const bool again = settlement.fate == Settlement::Fate::again;
    auto change = db_.prepare(
        "UPDATE deliveries SET state = CASE WHEN wanted = ?3 THEN ?4 ELSE 'waiting' END, "
        "outcome_unknown = CASE ?5 WHEN 1 THEN 1 WHEN 0 THEN outcome_unknown "
        "ELSE ?4 = 'set_aside' AND wanted <> ?3 END, "
        "place = CASE ?8 WHEN 1 THEN (SELECT max(place) + 1 FROM deliveries WHERE clinic = ?1) "
        "ELSE place END, troubled = CASE ?8 WHEN 1 THEN 1 ELSE troubled END, lost = ?9, "
        "wanted_us = CASE WHEN ?9 > lost THEN ?7 ELSE wanted_us END, words = ?6, changed_us = ?7 "
        "WHERE clinic = ?1 AND entry_id = ?2");
    if (!change) return change.error();
    // A definite answer ends the doubt about earlier attempts, except for a revision that was wanted
    // meanwhile: what an older one was set aside for concerns it, too. A failure before sending leaves the
    // doubt as it was.
    const std::int64_t doubt = !again ? -1 : settlement.outcome_unknown ? 1 : 0;
    const auto changed = change->bind(1, clinic)
                             .bind(2, id)
                             .bind(3, settlement.revision)
                             .bind(4, word_for(state_after(settlement.fate)))
                             .bind(5, doubt)
                             .bind(6, settlement.words)
                             .bind(7, micros(now))
                             .bind(8, settlement.to_the_back ? 1 : 0)
                             .bind(9, settlement.lost ? 1 : 0)
                             .run();
    if (!changed) return changed.error();
    return note_settled(clinic, settlement, now);
}

}  // namespace nightferry::logbook
