#include "daemon/upkeep/order_book.hpp"

#include <algorithm>

#include "daemon/mapping/clinic_orders.hpp"

namespace nightferry::upkeep {

namespace {

care::OrdersRead as_known(const logbook::OrderHistory& history, const std::string& clinic,
                          const entry::Household& household, Instant at) {
    care::OrdersRead read;
    read.clinic = clinic;
    read.failure = history.failure;
    if (!history.first_read || *history.first_read > at) return read;
    read.first_read = history.first_read;
    read.last_read = std::min(*history.last_read, at);
    read.others = history.others;
    for (const logbook::ShelvedOrder& state : history.states) {
        if (state.from > at || (state.until && *state.until <= at)) continue;
        auto order = mapping::read_clinic_order(state.order.body, household);
        // Settings may have changed since it was kept.
        if (!order || order->recognition == care::Recognition::other) continue;
        order->status = state.order.status;
        order->seen = state.from;
        read.orders.push_back(std::move(*order));
    }
    return read;
}

}  // namespace

Result<std::vector<care::OrdersRead>> OrderBook::read(const std::string& person, Instant known_at) {
    std::vector<care::OrdersRead> all;
    for (const std::string& clinic : clinics_for_(person)) {
        const auto history = shelf_.history(clinic, person);
        if (!history) return history.error();
        all.push_back(as_known(*history, clinic, household_, known_at));
    }
    return all;
}

}  // namespace nightferry::upkeep
