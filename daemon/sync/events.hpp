// What SyncMachine is told, and what it wants done next.
#pragma once

#include <chrono>
#include <cstdint>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "daemon/core/http.hpp"
#include "daemon/core/ports.hpp"
#include "daemon/logbook/delivery.hpp"
#include "daemon/logbook/order_shelf.hpp"
#include "daemon/sync/ports.hpp"

namespace nightferry::sync {

struct PassRequested {
    bool by_a_person = false;      // Then a wait that is still running is cut short.
    std::optional<Instant> until;  // The pass starts nothing new after this.
};
struct Taken {
    std::vector<logbook::Parcel> parcels;
};
struct Recalled {
    std::vector<logbook::Parcel> parcels;
};
struct Replied {
    Reply reply;
    std::vector<std::string> denied = {};  // Types that this hub may not create there, as far as is known.
};
struct OrdersKept {
    logbook::OrderHistory history;
};
struct Settled {};
struct Rang {};
using Event = std::variant<PassRequested, Taken, Recalled, Replied, OrdersKept, Settled, Rang>;

struct Take {
    logbook::TakeOrder order;
    bool clock_in_doubt = false;  // The hub's clock differs from the clinic's.
};
// Bring back deliveries whose newest receipt has a number below this, the highest first.
struct Recall {
    std::int64_t below = 0;
    std::size_t limit = 1;
};
struct Send {
    HttpRequest request;
};
// Keep what was read of somebody's orders, or why it was not.
struct KeepOrders {
    logbook::OrdersSeen seen;
};
struct Settle {
    std::vector<logbook::Settlement> settlements;
    logbook::ClinicState state;
};
struct Wait {
    std::chrono::microseconds span{0};
};
struct Rest {};  // The pass is over.
using Action = std::variant<Take, Recall, Send, KeepOrders, Settle, Wait, Rest>;

}  // namespace nightferry::sync
