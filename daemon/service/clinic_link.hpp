// Everything that belongs to one clinic, wired together: its outbox, its connection, its loop.
#pragma once

#include <functional>
#include <memory>

#include "config/settings.hpp"
#include "daemon/core/log.hpp"
#include "daemon/core/ports.hpp"
#include "daemon/logbook/outbox.hpp"
#include "daemon/net/https_client.hpp"
#include "daemon/net/system_ports.hpp"
#include "daemon/sync/loop.hpp"
#include "daemon/sync/ports.hpp"
#include "daemon/upkeep/upkeep.hpp"

namespace boost::asio {
class io_context;
}

namespace nightferry::service {

// The logbook's outbox, seen by one clinic's loop. Before anything is taken out, the hub's own summaries are
// brought up to date, so that they cross with the entries they count.
class ClinicOutbox final : public sync::OutboxPort {
 public:
    ClinicOutbox(logbook::Outbox& outbox, upkeep::Upkeep& upkeep, std::string clinic, Clock& clock)
        : outbox_(outbox), upkeep_(upkeep), clinic_(std::move(clinic)), clock_(clock) {}

    Result<std::vector<logbook::Parcel>> take(std::size_t limit,
                                              std::span<const std::string> without) override {
        const auto caught_up = upkeep_.catch_up();
        if (!caught_up) return caught_up.error();
        return outbox_.take(clinic_, limit, clock_.now(), without);
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

class ClinicLink {
 public:
    // Errc::setup when the CA file cannot be used; storage errors when the outbox cannot be read.
    static Result<std::unique_ptr<ClinicLink>> make(boost::asio::io_context& loop,
                                                    const config::Settings& settings,
                                                    const config::Clinic& clinic, logbook::Outbox& outbox,
                                                    upkeep::Upkeep& upkeep, Clock& clock, Random& random,
                                                    Log& log, std::function<void(const Error&)> on_failure);

    void start() { loop_.start(); }
    void stop() { loop_.stop(); }
    sync::SyncLoop& loop() { return loop_; }

 private:
    ClinicLink(boost::asio::io_context& loop, const config::Settings& settings, const config::Clinic& clinic,
               logbook::Outbox& outbox, upkeep::Upkeep& upkeep, std::unique_ptr<net::HttpsClient> client,
               logbook::ClinicState state, Clock& clock, Random& random, Log& log,
               std::function<void(const Error&)> on_failure);

    ClinicOutbox outbox_;
    std::unique_ptr<net::HttpsClient> client_;
    net::LoopAlarm retry_alarm_;
    net::LoopAlarm window_alarm_;
    sync::SyncLoop loop_;
};

}  // namespace nightferry::service
