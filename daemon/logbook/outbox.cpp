#include "daemon/logbook/outbox.hpp"

#include <algorithm>

#include "daemon/logbook/audit.hpp"
#include "daemon/logbook/policies.hpp"
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
    const auto history = read_policies(db_, clinic);
    if (!history) return history.error();
    std::vector<Parcel> parcels;
    auto transaction = Transaction::begin(db_);
    if (!transaction) return transaction.error();
    for (const Due& one : *found) {
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
        const bool goes = may_go(*history, *made);
        const auto marked = goes ? mark_under_way(clinic, one.id, now) : withdraw(clinic, *made, now);
        if (!marked) return marked.error();
        if (!goes) continue;
        const auto noted = note(db_, {AuditEvent::sent, clinic, one.id.to_string(), one.wanted, {}}, now);
        if (!noted) return noted.error();
        parcels.push_back(std::move(*made));
    }
    const auto committed = transaction->commit();
    if (!committed) return committed.error();
    const bool none_went = parcels.empty() && !found->empty();
    return none_went ? take(clinic, order, now) : parcels;
}

Result<void> Outbox::mark_under_way(const std::string& clinic, const EntryId& id, Instant now) {
    auto mark = db_.prepare(
        "UPDATE deliveries SET state = 'under_way', attempts = attempts + 1, changed_us = ?3, "
        "since = CASE outcome_unknown WHEN 1 THEN since ELSE (SELECT coalesce(max(number), 0) FROM receipts "
        "WHERE clinic = ?1) END WHERE clinic = ?1 AND entry_id = ?2");
    if (!mark) return mark.error();
    return mark->bind(1, clinic).bind(2, id.to_string()).bind(3, micros(now)).run();
}

Result<void> Outbox::withdraw(const std::string& clinic, const Parcel& parcel, Instant now) {
    auto change = db_.prepare(
        "UPDATE deliveries SET state = 'withdrawn', changed_us = ?3 WHERE clinic = ?1 AND entry_id = ?2");
    if (!change) return change.error();
    const std::string id = parcel.id.to_string();
    const auto changed = change->bind(1, clinic).bind(2, id).bind(3, micros(now)).run();
    if (!changed) return changed.error();
    return note(db_, {AuditEvent::withdrawn, clinic, id, parcel.wanted.revision, {}}, now);
}

Result<std::vector<Parcel>> Outbox::recall(const std::string& clinic, std::int64_t below, std::size_t limit) {
    auto query = db_.prepare(
        "SELECT r.entry_id, d.wanted, d.lost FROM receipts r "
        "JOIN deliveries d ON d.clinic = r.clinic AND d.entry_id = r.entry_id "
        "WHERE r.clinic = ?1 AND r.number < ?2 AND d.state IN ('confirmed', 'waiting', 'withdrawn') "
        // The sign has SQLite look at the receipts of this entry, not at all the newer ones.
        "AND NOT EXISTS (SELECT 1 FROM receipts n WHERE n.clinic = r.clinic AND n.entry_id = r.entry_id "
        "AND +n.number > r.number) ORDER BY r.number DESC LIMIT ?3");
    if (!query) return query.error();
    query->bind(1, clinic).bind(2, below).bind(3, static_cast<std::int64_t>(limit));
    const auto history = read_policies(db_, clinic);
    if (!history) return history.error();
    std::vector<Parcel> parcels;
    while (true) {
        const auto row = query->step();
        if (!row) return row.error();
        if (!*row) return parcels;
        auto made = parcel(clinic, *EntryId::parse(query->text(0)), query->integer(1));
        if (!made && made.error().code == Errc::unreadable) continue;
        if (!made) return made.error();
        made->lost = query->integer(2) != 0;
        // Reading back tells the clinic nothing; whether it is written again is decided when it is taken.
        made->withheld = !may_go(*history, *made);
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

}  // namespace nightferry::logbook
