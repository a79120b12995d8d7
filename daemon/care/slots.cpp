#include "daemon/care/slots.hpp"

#include <algorithm>

#include "daemon/care/calendar.hpp"
#include "daemon/core/overloaded.hpp"

namespace nightferry::care {

namespace {

using std::chrono::days;
using LocalDay = std::chrono::local_time<days>;

bool is_held(const Regimen& regimen, Instant at) {
    return std::any_of(regimen.holds.begin(), regimen.holds.end(),
                       [at](const Hold& hold) { return hold.from <= at && at < hold.until; });
}

// Adds the slots of one order with from <= due < to.
void add_slots(const Regimen& regimen, std::size_t index, Instant from, Instant to,
               std::vector<Slot>& slots) {
    const Order& order = regimen.orders[index];
    const LocalSecond start =
        std::max(order.from, std::chrono::floor<std::chrono::seconds>(clock_at(order.zone, from)) - days{1});
    // A clock change moves a slot by a day at most.
    const LocalDay last = std::chrono::floor<days>(clock_at(order.zone, to) + days{1});
    for (LocalDay day = std::chrono::floor<days>(start); day <= last; day += days{1}) {
        for (std::size_t dose = 0; dose < order.doses.size(); ++dose) {
            const LocalSecond local = day + order.doses[dose].clock;
            if (local < order.from) continue;
            const Moment due = meant_by(order.zone, local);
            const bool in_order = slots.empty() || slots.back().due.at < due.at;
            if (due.at < from || due.at >= to || !in_order) continue;
            slots.push_back({due, index, dose, is_held(regimen, due.at)});
        }
    }
}

}  // namespace

Moment meant_by(const Zone& zone, LocalSecond local) {
    return std::visit(Overloaded{
                          [](const Moment& moment) { return moment; },
                          [](const Zone::Ambiguous& twice) { return twice.first; },
                          [&](const Zone::Nonexistent& gap) {
                              const auto before = gap.jump.offset - gap.skipped;
                              return zone.at(Instant{local.time_since_epoch() - before});
                          },
                      },
                      zone.read(local));
}

std::vector<Slot> slots_between(const Regimen& regimen, Instant from, Instant to) {
    if (regimen.end) to = std::min(to, *regimen.end);
    std::vector<Slot> slots;
    for (std::size_t i = 0; i < regimen.orders.size(); ++i) {
        const Order& order = regimen.orders[i];
        const Instant begins = meant_by(order.zone, order.from).at;
        Instant ends = to;
        if (i + 1 < regimen.orders.size()) {
            const Order& next = regimen.orders[i + 1];
            ends = std::min(to, meant_by(next.zone, next.from).at);
        }
        if (const Instant first = std::max(from, begins); first < ends)
            add_slots(regimen, i, first, ends, slots);
    }
    return slots;
}

const DailyDose& dose_of(const Regimen& regimen, const Slot& slot) {
    return regimen.orders[slot.order].doses[slot.dose];
}

}  // namespace nightferry::care
