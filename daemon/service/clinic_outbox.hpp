// The logbook's outbox, seen by one clinic's loop. Before anything is taken out, the hub's own summaries are
// brought up to date, so that they cross with the entries they count.
#pragma once

#include <string>
#include <vector>

#include "daemon/core/ports.hpp"
#include "daemon/logbook/outbox.hpp"
#include "daemon/sync/ports.hpp"
#include "daemon/upkeep/upkeep.hpp"

namespace nightferry::service {

class ClinicOutbox final : public sync::OutboxPort {
 public:
    ClinicOutbox(logbook::Outbox& outbox, upkeep::Upkeep& upkeep, std::string clinic, Clock& clock)
        : outbox_(outbox), upkeep_(upkeep), clinic_(std::move(clinic)), clock_(clock) {}

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

 private:
    logbook::Outbox& outbox_;
    upkeep::Upkeep& upkeep_;
    std::string clinic_;
    Clock& clock_;
};

}  // namespace nightferry::service
