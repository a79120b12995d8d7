// The part of SyncMachine that reads what the clinic has ordered, where it is asked for that: once in a pass,
// before anything is sent. Whatever comes of it, the pass goes on; what was read or why not is handed to the
// outbox.
#include "daemon/sync/machine.hpp"

namespace nightferry::sync {

void SyncMachine::read_orders_of(OrderReading reading) {
    orders_ = std::move(reading);
    next_orders_ = orders_->active.size();
    for (const auto& [person, in_force] : orders_->in_force)
        builder_.mapper().set_orders(person, in_force);
}

bool SyncMachine::has_orders_to_read() const {
    return orders_ && next_orders_ < orders_->active.size();
}

Action SyncMachine::read_orders(Instant now) {
    while (!order_walk_ && has_orders_to_read()) {
        const auto& [person, active] =
            *std::next(orders_->active.begin(), static_cast<std::ptrdiff_t>(next_orders_));
        const auto& patients = builder_.mapper().identities().patients;
        // Who was not found has no orders here.
        if (const auto patient = patients.find(person); patient != patients.end()) {
            order_walk_.emplace(OrdersAsked{orders_->base, person, patient->second, active},
                                *orders_->household);
        } else {
            ++next_orders_;
        }
    }
    if (!order_walk_) return go_on(now);
    if (auto request = order_walk_->next()) {
        phase_ = Phase::reading_orders;
        sent_ = now;
        return Send{std::move(*request)};
    }
    phase_ = Phase::keeping_orders;
    return KeepOrders{order_walk_->result()};
}

Action SyncMachine::on_orders_reply(const Reply& reply, Instant now) {
    order_walk_->on(reply);
    // Whoever does not answer is not asked again for the next person; what else is to be asked meets the
    // same.
    if (std::holds_alternative<NoAnswer>(reply)) stops_reading_orders_ = true;
    return read_orders(now);
}

Action SyncMachine::on_orders_kept(const logbook::OrderHistory& history, Instant now) {
    auto& [person, active] = *std::next(orders_->active.begin(), static_cast<std::ptrdiff_t>(next_orders_));
    active = history.active();
    builder_.mapper().set_orders(person, orders_in_force(history, *orders_->household));
    order_walk_.reset();
    ++next_orders_;
    if (std::exchange(stops_reading_orders_, false)) next_orders_ = orders_->active.size();
    return go_on(now);
}

}  // namespace nightferry::sync
