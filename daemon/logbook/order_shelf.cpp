#include "daemon/logbook/order_shelf.hpp"

#include <algorithm>

#include "daemon/logbook/rows.hpp"

namespace nightferry::logbook {

namespace {

std::optional<Instant> time_at(const Statement& row, int column) {
    return row.is_null(column) ? std::nullopt : std::optional(instant_from(row.integer(column)));
}

bool is_same(const SeenOrder& seen, const SeenOrder& known) {
    return seen.status == known.status && (seen.body.empty() || seen.body == known.body);
}

const SeenOrder* find(const std::vector<SeenOrder>& orders, const std::string& id) {
    const auto found = std::ranges::find(orders, id, &SeenOrder::id);
    return found == orders.end() ? nullptr : &*found;
}

}  // namespace

std::vector<std::string> OrderHistory::active() const {
    std::vector<std::string> ids;
    for (const ShelvedOrder& one : states) {
        if (!one.until && one.order.status == "active") ids.push_back(one.order.id);
    }
    return ids;
}

Result<void> OrderShelf::keep(const std::string& clinic, const OrdersSeen& seen, Instant now) {
    auto transaction = Transaction::begin(db_);
    if (!transaction) return transaction.error();
    if (seen.failure.empty()) {
        const auto known = history(clinic, seen.person);
        if (!known) return known.error();
        const auto kept = keep_orders(clinic, seen, *known, now);
        if (!kept) return kept.error();
    }
    const auto noted = keep_reading(clinic, seen, now);
    if (!noted) return noted.error();
    auto committed = transaction->commit();
    if (committed) ++changes_;
    return committed;
}

Result<void> OrderShelf::keep_orders(const std::string& clinic, const OrdersSeen& seen,
                                     const OrderHistory& known, Instant now) {
    for (const ShelvedOrder& state : known.states) {
        const SeenOrder* still = find(seen.orders, state.order.id);
        const bool has_ended_before = still == nullptr && state.order.status != "active";
        if (state.until || has_ended_before || (still != nullptr && is_same(*still, state.order))) continue;
        auto end = db_.prepare(
            "UPDATE clinic_orders SET until_us = ?1 WHERE clinic = ?2 AND person = ?3 AND resource_id = ?4 "
            "AND until_us IS NULL");
        if (!end) return end.error();
        const auto ended =
            end->bind(1, micros(now)).bind(2, clinic).bind(3, seen.person).bind(4, state.order.id).run();
        if (!ended) return ended.error();
    }
    for (const SeenOrder& order : seen.orders) {
        const auto before = std::ranges::find_if(known.states, [&](const ShelvedOrder& state) {
            return state.order.id == order.id && !state.until;
        });
        if (before != known.states.end() && is_same(order, before->order)) continue;
        const bool is_as_it_was = order.body.empty() && before != known.states.end();
        auto add = db_.prepare(
            "INSERT INTO clinic_orders (clinic, person, resource_id, status, body, from_us) "
            "VALUES (?1, ?2, ?3, ?4, ?5, ?6)");
        if (!add) return add.error();
        const auto added = add->bind(1, clinic)
                               .bind(2, seen.person)
                               .bind(3, order.id)
                               .bind(4, order.status)
                               .bind(5, is_as_it_was ? before->order.body : order.body)
                               .bind(6, micros(now))
                               .run();
        if (!added) return added.error();
    }
    return {};
}

Result<void> OrderShelf::keep_reading(const std::string& clinic, const OrdersSeen& seen, Instant now) {
    const bool failed = !seen.failure.empty();
    auto note = db_.prepare(
        failed ? "INSERT INTO order_readings (clinic, person, others, words) VALUES (?1, ?2, 0, ?3) "
                 "ON CONFLICT DO UPDATE SET words = ?3"
               : "INSERT INTO order_readings (clinic, person, first_us, last_us, others, words) "
                 "VALUES (?1, ?2, ?4, ?4, ?5, ?3) "
                 "ON CONFLICT DO UPDATE SET first_us = coalesce(first_us, ?4), last_us = ?4, others = ?5, "
                 "words = ?3");
    if (!note) return note.error();
    note->bind(1, clinic).bind(2, seen.person).bind(3, seen.failure);
    if (!failed) note->bind(4, micros(now)).bind(5, seen.others);
    return note->run();
}

Result<OrderHistory> OrderShelf::history(const std::string& clinic, const std::string& person) {
    OrderHistory history;
    auto reading = db_.prepare(
        "SELECT first_us, last_us, others, words FROM order_readings WHERE clinic = ?1 AND person = ?2");
    if (!reading) return reading.error();
    const auto is_there = reading->bind(1, clinic).bind(2, person).step();
    if (!is_there) return is_there.error();
    if (*is_there) {
        history.first_read = time_at(*reading, 0);
        history.last_read = time_at(*reading, 1);
        history.others = reading->integer(2);
        history.failure = reading->text(3);
    }
    auto states = db_.prepare(
        "SELECT resource_id, status, body, from_us, until_us FROM clinic_orders "
        "WHERE person = ?1 AND clinic = ?2 ORDER BY number");
    if (!states) return states.error();
    states->bind(1, person).bind(2, clinic);
    while (true) {
        const auto row = states->step();
        if (!row) return row.error();
        if (!*row) return history;
        history.states.push_back({{states->text(0), states->text(1), states->text(2)},
                                  instant_from(states->integer(3)),
                                  time_at(*states, 4)});
    }
}

}  // namespace nightferry::logbook
