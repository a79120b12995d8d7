#include "daemon/logbook/outbox.hpp"

#include <algorithm>

#include "daemon/logbook/rows.hpp"

namespace nightferry::logbook {

namespace {

struct Due {
    EntryId id;
    std::int64_t place;
    std::int64_t wanted;
    bool outcome_unknown;
    int attempts;
    bool lost;
};

// `fresh`: the newest of those that never went to the back; otherwise the longest-waiting of all.
Result<std::vector<Due>> due(Database& db, const std::string& clinic, const TakeOrder& order, bool fresh) {
    std::string persons;
    for (std::size_t i = 0; i < order.without.size(); ++i)
        persons += (i == 0 ? "?" : ", ?") + std::to_string(i + 3);
    auto query = db.prepare(
        "SELECT d.entry_id, d.place, d.wanted, d.outcome_unknown, d.attempts, d.lost "
        "FROM deliveries d " +
        std::string(fresh ? "INDEXED BY deliveries_fresh " : "") +
        "JOIN entries e ON e.entry_id = d.entry_id "
        "WHERE d.clinic = ?1 AND d.state = 'waiting' AND e.person NOT IN (" +
        persons + ")" + (fresh ? " AND d.troubled = 0 ORDER BY d.place DESC" : " ORDER BY d.place") +
        " LIMIT ?2");
    if (!query) return query.error();
    query->bind(1, clinic).bind(2, static_cast<std::int64_t>(fresh ? order.fresh : order.limit));
    for (std::size_t i = 0; i < order.without.size(); ++i)
        query->bind(static_cast<int>(i) + 3, order.without[i]);
    std::vector<Due> found;
    while (true) {
        const auto row = query->step();
        if (!row) return row.error();
        if (!*row) return found;
        found.push_back({*EntryId::parse(query->text(0)), query->integer(1), query->integer(2),
                         query->integer(3) != 0, static_cast<int>(query->integer(4)),
                         query->integer(5) != 0});
    }
}

// Both kinds, each once, in the order in which they wait.
Result<std::vector<Due>> due(Database& db, const std::string& clinic, const TakeOrder& order) {
    std::vector<Due> all;
    if (order.fresh > 0) {
        auto newest = due(db, clinic, order, true);
        if (!newest) return newest.error();
        all = std::move(*newest);
    }
    const auto oldest = due(db, clinic, order, false);
    if (!oldest) return oldest.error();
    const std::size_t fresh = all.size();
    for (const Due& one : *oldest) {
        if (all.size() == order.limit) break;
        const auto end = all.begin() + static_cast<std::ptrdiff_t>(fresh);
        if (std::none_of(all.begin(), end, [&](const Due& taken) { return taken.id == one.id; }))
            all.push_back(one);
    }
    std::sort(all.begin(), all.end(), [](const Due& a, const Due& b) { return a.place < b.place; });
    return all;
}

}  // namespace

Result<std::vector<Parcel>> Outbox::take(const std::string& clinic, const TakeOrder& order, Instant now) {
    const auto found = due(db_, clinic, order);
    if (!found) return found.error();
    std::vector<Parcel> parcels;
    auto transaction = Transaction::begin(db_);
    if (!transaction) return transaction.error();
    for (const Due& one : *found) {
        auto mark = db_.prepare(
            "UPDATE deliveries SET state = 'under_way', attempts = attempts + 1, changed_us = ?3, "
            "since = CASE outcome_unknown WHEN 1 THEN since ELSE (SELECT coalesce(max(number), 0) FROM "
            "receipts "
            "WHERE clinic = ?1) END WHERE clinic = ?1 AND entry_id = ?2");
        if (!mark) return mark.error();
        const auto marked = mark->bind(1, clinic).bind(2, one.id.to_string()).bind(3, micros(now)).run();
        if (!marked) return marked.error();
        auto made = parcel(clinic, one.id, one.wanted);
        if (!made && made.error().code == Errc::unreadable) {
            // One unreadable entry must not hold up the rest.
            const auto aside = settle_one(
                clinic,
                {one.id, one.wanted, Settlement::Fate::set_aside, {}, false, false, made.error().detail},
                now);
            if (!aside) return aside.error();
            continue;
        }
        if (!made) return made.error();
        made->outcome_unknown = one.outcome_unknown;
        made->lost = one.lost;
        made->attempts = one.attempts + 1;
        parcels.push_back(std::move(*made));
    }
    const auto committed = transaction->commit();
    if (!committed) return committed.error();
    const bool all_unreadable = parcels.empty() && !found->empty();
    return all_unreadable ? take(clinic, order, now) : parcels;
}

Result<std::vector<Parcel>> Outbox::recall(const std::string& clinic, std::int64_t below, std::size_t limit) {
    auto query = db_.prepare(
        "SELECT r.entry_id, d.wanted, d.lost FROM receipts r "
        "JOIN deliveries d ON d.clinic = r.clinic AND d.entry_id = r.entry_id "
        "WHERE r.clinic = ?1 AND r.number < ?2 AND d.state IN ('confirmed', 'waiting') "
        // The sign has SQLite look at the receipts of this entry, not at all the newer ones.
        "AND NOT EXISTS (SELECT 1 FROM receipts n WHERE n.clinic = r.clinic AND n.entry_id = r.entry_id "
        "AND +n.number > r.number) ORDER BY r.number DESC LIMIT ?3");
    if (!query) return query.error();
    query->bind(1, clinic).bind(2, below).bind(3, static_cast<std::int64_t>(limit));
    std::vector<Parcel> parcels;
    while (true) {
        const auto row = query->step();
        if (!row) return row.error();
        if (!*row) return parcels;
        auto made = parcel(clinic, *EntryId::parse(query->text(0)), query->integer(1));
        if (!made && made.error().code == Errc::unreadable) continue;
        if (!made) return made.error();
        made->lost = query->integer(2) != 0;
        parcels.push_back(std::move(*made));
    }
}

Result<Parcel> Outbox::parcel(const std::string& clinic, const EntryId& id, std::int64_t wanted) {
    const std::string key = id.to_string();
    auto versions = versions_of(db_, key);
    if (!versions) return versions.error();
    Parcel parcel;
    parcel.id = id;
    for (entry::Version& one : *versions) {
        if (one.revision == wanted) {
            parcel.wanted = std::move(one);
        } else {
            parcel.earlier.push_back(std::move(one));
        }
    }
    if (parcel.wanted.revision == 0) {
        return Error{Errc::unreadable, "a delivery wants a revision that the logbook does not hold"};
    }
    const auto receipts = receipts_of(db_, clinic, key);
    if (!receipts) return receipts.error();
    if (!receipts->empty()) parcel.receipt = receipts->back();
    const auto* finding = std::get_if<entry::Finding>(&parcel.wanted.content.what);
    if (finding != nullptr && finding->dose) {
        const auto dose_receipts = receipts_of(db_, clinic, finding->dose->to_string());
        if (!dose_receipts) return dose_receipts.error();
        if (!dose_receipts->empty()) parcel.dose_receipt = dose_receipts->back();
    }
    return parcel;
}

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

Result<void> Outbox::settle_one(const std::string& clinic, const Settlement& settlement, Instant now) {
    const std::string id = settlement.id.to_string();
    if (settlement.fate == Settlement::Fate::confirmed) {
        const Receipt& receipt = *settlement.receipt;
        auto keep = db_.prepare(
            "INSERT OR REPLACE INTO receipts (clinic, entry_id, revision, resource_type, resource_id, "
            "version_id, http_status, received_us, number, written_after) SELECT ?1, ?2, ?3, ?4, ?5, ?6, ?7, "
            "?8, n + 1, CASE ?9 WHEN 0 THEN n WHEN 1 THEN since ELSE 0 END "
            "FROM (SELECT coalesce(max(number), 0) AS n FROM receipts WHERE clinic = ?1), deliveries "
            "WHERE clinic = ?1 AND entry_id = ?2");
        if (!keep) return keep.error();
        const auto kept = keep->bind(1, clinic)
                              .bind(2, id)
                              .bind(3, settlement.revision)
                              .bind(4, receipt.resource_type)
                              .bind(5, receipt.resource_id)
                              .bind(6, receipt.version_id)
                              .bind(7, receipt.http_status)
                              .bind(8, micros(receipt.received))
                              .bind(9, static_cast<std::int64_t>(receipt.written))
                              .run();
        if (!kept) return kept.error();
    }
    const bool again = settlement.fate == Settlement::Fate::again;
    const DeliveryState state = again                                            ? DeliveryState::waiting
                                : settlement.fate == Settlement::Fate::confirmed ? DeliveryState::confirmed
                                                                                 : DeliveryState::set_aside;
    auto change = db_.prepare(
        "UPDATE deliveries SET state = CASE WHEN wanted = ?3 THEN ?4 ELSE 'waiting' END, "
        "outcome_unknown = CASE ?5 WHEN 1 THEN 1 WHEN 0 THEN outcome_unknown "
        "ELSE ?4 = 'set_aside' AND wanted <> ?3 END, "
        "place = CASE ?8 WHEN 1 THEN (SELECT max(place) + 1 FROM deliveries WHERE clinic = ?1) "
        "ELSE place END, troubled = CASE ?8 WHEN 1 THEN 1 ELSE troubled END, lost = ?9, words = ?6, "
        "changed_us = ?7 "
        "WHERE clinic = ?1 AND entry_id = ?2");
    if (!change) return change.error();
    // A definite answer ends the doubt about earlier attempts, except for a revision that was wanted
    // meanwhile: what an older one was set aside for concerns it, too. A failure before sending leaves the
    // doubt as it was.
    const std::int64_t doubt = !again ? -1 : settlement.outcome_unknown ? 1 : 0;
    return change->bind(1, clinic)
        .bind(2, id)
        .bind(3, settlement.revision)
        .bind(4, word_for(state))
        .bind(5, doubt)
        .bind(6, settlement.words)
        .bind(7, micros(now))
        .bind(8, settlement.to_the_back ? 1 : 0)
        .bind(9, settlement.lost ? 1 : 0)
        .run();
}

}  // namespace nightferry::logbook
