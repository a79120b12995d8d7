// The part of Outbox that shows how the queue stands.
#include "daemon/logbook/outbox.hpp"
#include "daemon/logbook/rows.hpp"

namespace nightferry::logbook {

namespace {

std::int64_t& count_of(QueueCounts& counts, DeliveryState state) {
    switch (state) {
        case DeliveryState::confirmed:
            return counts.confirmed;
        case DeliveryState::set_aside:
            return counts.set_aside;
        case DeliveryState::closed:
            return counts.closed;
        case DeliveryState::withdrawn:
            return counts.withdrawn;
        case DeliveryState::waiting:
        case DeliveryState::under_way:
            break;
    }
    return counts.waiting;
}

}  // namespace

Result<QueueCounts> Outbox::counts(const std::string& clinic) {
    auto query = db_.prepare("SELECT state, number FROM delivery_counts WHERE clinic = ?1");
    if (!query) return query.error();
    query->bind(1, clinic);
    QueueCounts counts;
    while (true) {
        const auto row = query->step();
        if (!row) return row.error();
        if (!*row) break;
        count_of(counts, state_from(query->text(0))) += query->integer(1);
    }
    auto oldest = db_.prepare(
        "SELECT min(wanted_us) FROM deliveries WHERE clinic = ?1 AND state IN ('waiting', 'under_way')");
    if (!oldest) return oldest.error();
    const auto row = oldest->bind(1, clinic).step();
    if (!row) return row.error();
    if (!oldest->is_null(0)) counts.oldest_waiting = instant_from(oldest->integer(0));
    return counts;
}

Result<std::vector<Delivery>> Outbox::in_state(const std::string& clinic, DeliveryState state,
                                               std::size_t limit) {
    auto query = db_.prepare(
        "SELECT entry_id, wanted, attempts, words, changed_us FROM deliveries "
        "WHERE clinic = ?1 AND state = ?2 ORDER BY place LIMIT ?3");
    if (!query) return query.error();
    query->bind(1, clinic).bind(2, word_for(state)).bind(3, static_cast<std::int64_t>(limit));
    std::vector<Delivery> found;
    while (true) {
        const auto row = query->step();
        if (!row) return row.error();
        if (!*row) return found;
        found.push_back({clinic,
                         *EntryId::parse(query->text(0)),
                         state,
                         query->integer(1),
                         static_cast<int>(query->integer(2)),
                         query->text(3),
                         instant_from(query->integer(4)),
                         {},
                         {}});
    }
}

}  // namespace nightferry::logbook
