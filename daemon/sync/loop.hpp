// Performs what SyncMachine decides for one clinic, and starts passes by the timetable.
#pragma once

#include <functional>
#include <string>

#include "daemon/core/log.hpp"
#include "daemon/core/ports.hpp"
#include "daemon/sync/machine.hpp"
#include "daemon/sync/ports.hpp"
#include "daemon/sync/timetable.hpp"

namespace nightferry::sync {

class SyncLoop {
 public:
    // Calls `on_storage_failure` when the outbox fails: what is stored is then in doubt and the process has
    // to end. All references outlive the loop.
    SyncLoop(std::string clinic, SyncMachine machine, Timetable timetable, ClinicPort& port,
             OutboxPort& outbox, Clock& clock, Alarm& retry_alarm, Alarm& window_alarm, Log& log,
             std::function<void(const Error&)> on_storage_failure);

    // Arms the timetable; starts a pass at once when the last night's was missed or cut short.
    void start();

    // A pass that a person asked for. While one runs this ends its current wait, if any.
    void request_pass();

    // Ends all waiting. A request under way is left to the port; what was under way stays recorded so.
    void stop();

    bool is_running() const { return !machine_.is_resting(); }
    const std::string& clinic() const { return clinic_; }

 private:
    void begin(const PassRequested& requested);
    // Starts a pass when a night's start has come or was missed, also after the clock was set; comes back by
    // itself.
    void tend();
    void perform(Action action);
    void feed(Event event);

    std::string clinic_;
    SyncMachine machine_;
    Timetable timetable_;
    ClinicPort& port_;
    OutboxPort& outbox_;
    Clock& clock_;
    Alarm& retry_alarm_;
    Alarm& window_alarm_;
    Log& log_;
    std::function<void(const Error&)> on_storage_failure_;
    bool stopped_ = false;
};

}  // namespace nightferry::sync
