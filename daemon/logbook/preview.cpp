// The part of Outbox that shows what would go out.
#include "daemon/logbook/outbox.hpp"
#include "daemon/logbook/policies.hpp"
#include "daemon/logbook/rows.hpp"

namespace nightferry::logbook {

namespace {

struct Listed {
    EntryId id;
    std::int64_t wanted = 0;
    bool outcome_unknown = false;
};

Result<std::vector<Listed>> listed(Statement& query) {
    std::vector<Listed> found;
    while (true) {
        const auto row = query.step();
        if (!row) return row.error();
        if (!*row) return found;
        found.push_back({*EntryId::parse(query.text(0)), query.integer(1), query.integer(2) != 0});
    }
}

Result<std::vector<Listed>> unfinished(Database& db, const std::string& clinic, std::size_t limit) {
    auto query = db.prepare(
        "SELECT entry_id, wanted, outcome_unknown OR state = 'under_way' FROM deliveries "
        "WHERE clinic = ?1 AND state IN ('waiting', 'under_way') ORDER BY place LIMIT ?2");
    if (!query) return query.error();
    query->bind(1, clinic).bind(2, static_cast<std::int64_t>(limit));
    return listed(*query);
}

Result<std::vector<Listed>> of_entry(Database& db, const std::string& clinic, const EntryId& id) {
    auto query = db.prepare(
        "SELECT e.entry_id, e.current_revision, coalesce(d.outcome_unknown, 0) FROM entries e "
        "LEFT JOIN deliveries d ON d.clinic = ?1 AND d.entry_id = e.entry_id WHERE e.entry_id = ?2");
    if (!query) return query.error();
    query->bind(1, clinic).bind(2, id.to_string());
    return listed(*query);
}

}  // namespace

Result<std::vector<Parcel>> Outbox::preview(const std::string& clinic, std::span<const EntryId> entries,
                                            std::size_t limit) {
    const auto history = read_policies(db_, clinic);
    if (!history) return history.error();
    auto all = unfinished(db_, clinic, limit);
    if (!all) return all.error();
    for (const EntryId& id : entries) {
        if (all->size() >= limit) break;
        const auto found = of_entry(db_, clinic, id);
        if (!found) return found.error();
        all->insert(all->end(), found->begin(), found->end());
    }
    std::vector<Parcel> parcels;
    for (const Listed& one : *all) {
        auto made = parcel(clinic, one.id, one.wanted);
        // It would be set aside.
        if (!made && made.error().code == Errc::unreadable) continue;
        if (!made) return made.error();
        made->outcome_unknown = one.outcome_unknown;
        if (may_go(*history, *made)) parcels.push_back(std::move(*made));
    }
    return parcels;
}

}  // namespace nightferry::logbook
