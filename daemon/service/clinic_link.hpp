// Everything that belongs to one clinic, wired together: its outbox, its connection, its loop.
#pragma once

#include <functional>
#include <memory>

#include "config/settings.hpp"
#include "daemon/core/log.hpp"
#include "daemon/core/ports.hpp"
#include "daemon/door/clinic_door.hpp"
#include "daemon/logbook/outbox.hpp"
#include "daemon/net/system_ports.hpp"
#include "daemon/service/clinic_outbox.hpp"
#include "daemon/sync/loop.hpp"
#include "daemon/sync/ports.hpp"
#include "daemon/upkeep/upkeep.hpp"

namespace boost::asio {
class io_context;
}

namespace nightferry::service {

class ClinicLink {
 public:
    // Errc::setup when the CA file cannot be used; storage errors when the outbox cannot be read.
    static Result<std::unique_ptr<ClinicLink>> make(boost::asio::io_context& loop,
                                                    const config::Settings& settings,
                                                    const config::Clinic& clinic, logbook::Outbox& outbox,
                                                    logbook::OrderShelf& orders, upkeep::Upkeep& upkeep,
                                                    Clock& clock, Random& random, Log& log,
                                                    std::function<void(const Error&)> on_failure);

    void start(const sync::LeftToDo& left) { loop_.start(left); }
    void stop() { loop_.stop(); }
    sync::SyncLoop& loop() { return loop_; }
    const sync::JobBuilder& builder() const { return loop_.builder(); }
    const door::ClinicDoor& door() const { return *door_; }
    std::vector<access::Remark> remarks() const { return door_->remarks(); }
    // Whose orders could not be read by the newest attempt, and why.
    std::vector<std::string> order_remarks() const { return outbox_.order_remarks(); }

 private:
    ClinicLink(boost::asio::io_context& loop, const config::Settings& settings, const config::Clinic& clinic,
               logbook::Outbox& outbox, logbook::OrderShelf& orders, upkeep::Upkeep& upkeep,
               std::unique_ptr<door::ClinicDoor> door, sync::SyncMachine machine, Clock& clock,
               Random& random, Log& log, std::function<void(const Error&)> on_failure);

    ClinicOutbox outbox_;
    std::unique_ptr<door::ClinicDoor> door_;
    net::LoopAlarm pass_alarm_;
    net::LoopAlarm night_alarm_;
    sync::SyncLoop loop_;
};

}  // namespace nightferry::service
