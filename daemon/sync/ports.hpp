// What sending needs of the world. Production adapters live in daemon/net and daemon/service; a simulated
// world brings its own.
#pragma once

#include <functional>
#include <span>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "daemon/core/http.hpp"
#include "daemon/core/result.hpp"
#include "daemon/logbook/delivery.hpp"
#include "daemon/logbook/order_shelf.hpp"

namespace nightferry::sync {

// Why there is no answer. What matters for the next attempt is whether the clinic may have acted.
struct NoAnswer {
    enum class Reached {
        no,         // The request never left: no name, no route, no TLS.
        untrusted,  // The other side could not prove to be the clinic, or does not let this hub in.
        perhaps,    // It was sent, wholly or in part; the clinic may have acted on it.
    };
    Reached reached = Reached::no;
    std::string words;
};

// In log and metrics.
constexpr std::string_view word_for(NoAnswer::Reached reached) {
    switch (reached) {
        case NoAnswer::Reached::no:
            return "unreachable";
        case NoAnswer::Reached::untrusted:
            return "untrusted";
        case NoAnswer::Reached::perhaps:
            return "no_answer";
    }
    return {};
}

using Reply = std::variant<HttpAnswer, NoAnswer>;

// One clinic's endpoint. At most one request is under way at a time.
class ClinicPort {
 public:
    virtual ~ClinicPort() = default;
    // Sends and calls back exactly once, later, from the event loop; never from inside send().
    virtual void send(HttpRequest request, std::function<void(Reply)> done) = 0;
    // Called when no request is under way: connections are closed, so that the next request goes on a fresh
    // one.
    virtual void rest() = 0;
    // Types of resources that this hub may not create there, as far as is known.
    virtual std::vector<std::string> denied() const { return {}; }
};

// The outbox of one clinic. Everything is durable when a call returns. Errc::disk_full leaves everything as
// it was, and the same call may be made again when there is room; any other error puts what is stored in
// doubt.
class OutboxPort {
 public:
    virtual ~OutboxPort() = default;
    // `clock_in_doubt`: this hub's clock differs from the clinic's, so nothing is to be computed by it.
    virtual Result<std::vector<logbook::Parcel>> take(const logbook::TakeOrder& order,
                                                      bool clock_in_doubt) = 0;
    // Deliveries with a receipt whose newest receipt has a number below this, the highest first.
    virtual Result<std::vector<logbook::Parcel>> recall(std::int64_t below, std::size_t limit) = 0;
    virtual Result<void> settle(std::span<const logbook::Settlement> settlements,
                                const logbook::ClinicState& state) = 0;
    virtual Result<logbook::ClinicState> state() = 0;
    // Keeps what was read of somebody's orders and tells all that is kept of them. Asked only where orders
    // are read.
    virtual Result<logbook::OrderHistory> keep_orders(const logbook::OrdersSeen& /*seen*/) {
        return logbook::OrderHistory();
    }
};

}  // namespace nightferry::sync
