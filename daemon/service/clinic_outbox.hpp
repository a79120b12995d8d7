// The logbook's outbox, seen by one clinic's loop. Before anything is taken out, the hub's own summaries are
// brought up to date, so that they cross with the entries they count.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "daemon/core/ports.hpp"
#include "daemon/logbook/order_shelf.hpp"
#include "daemon/logbook/outbox.hpp"
#include "daemon/sync/ports.hpp"
#include "daemon/upkeep/upkeep.hpp"

namespace nightferry::service {

class ClinicOutbox final : public sync::OutboxPort {
 public:
    // `orders` is there where the clinic is asked for what it has ordered.
    ClinicOutbox(logbook::Outbox& outbox, upkeep::Upkeep& upkeep, std::string clinic, Clock& clock,
                 logbook::OrderShelf* orders = nullptr)
        : outbox_(outbox), upkeep_(upkeep), clinic_(std::move(clinic)), clock_(clock), orders_(orders) {}

    Result<std::vector<logbook::Parcel>> take(const logbook::TakeOrder& order, bool clock_in_doubt) override {
        upkeep_.doubt_clock(clinic_, clock_in_doubt);
        const auto caught_up = upkeep_.catch_up(upkeep::Upkeep::Summaries::made);
        if (!caught_up) return caught_up.error();
        return outbox_.take(clinic_, order, clock_.now());
    }
    Result<std::vector<logbook::Parcel>> recall(std::int64_t below, std::size_t limit) override {
        return outbox_.recall(clinic_, below, limit);
    }
    Result<void> settle(std::span<const logbook::Settlement> settlements,
                        const logbook::ClinicState& state) override {
        return outbox_.settle(clinic_, settlements, state, clock_.now());
    }
    Result<logbook::ClinicState> state() override { return outbox_.state(clinic_); }
    Result<logbook::OrderHistory> keep_orders(const logbook::OrdersSeen& seen) override {
        if (orders_ == nullptr) return logbook::OrderHistory();
        order_failures_.erase(seen.person);
        if (!seen.failure.empty()) order_failures_.emplace(seen.person, seen.failure);
        const auto kept = orders_->keep(clinic_, seen, clock_.now());
        if (!kept) return kept.error();
        return orders_->history(clinic_, seen.person);
    }

    std::vector<std::string> order_remarks() const {
        std::vector<std::string> all;
        for (const auto& [person, words] : order_failures_) {
            all.push_back("what the clinic has ordered for '" + person + "' could not be read: " + words +
                          "; what was read before is still compared, and the next pass tries again");
        }
        return all;
    }

 private:
    logbook::Outbox& outbox_;
    upkeep::Upkeep& upkeep_;
    std::string clinic_;
    Clock& clock_;
    logbook::OrderShelf* orders_;
    std::map<std::string, std::string> order_failures_;  // By person, since the start.
};

}  // namespace nightferry::service
