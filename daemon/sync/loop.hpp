// Performs what SyncMachine decides for one clinic, and starts passes: by the timetable, when somebody asks,
// and where the clinic wants it, soon after something was recorded.
#pragma once

#include <functional>
#include <map>
#include <string>

#include "daemon/core/log.hpp"
#include "daemon/core/ports.hpp"
#include "daemon/sync/keep_alive.hpp"
#include "daemon/sync/machine.hpp"
#include "daemon/sync/ports.hpp"
#include "daemon/sync/timetable.hpp"

namespace nightferry::sync {

// All references outlive the loop. The two alarms are for it alone.
struct LoopPorts {
    ClinicPort& clinic;
    OutboxPort& outbox;
    Clock& clock;
    Random& random;
    Alarm& pass_alarm;   // The next step of a pass, or the next pass as it happens.
    Alarm& night_alarm;  // The next night.
    Log& log;
};

// What a loop that came to a halt leaves to the one that takes its place.
struct LeftToDo {
    bool pass = false;      // One was running.
    bool request = false;   // A person asked for one.
    bool recorded = false;  // Something was recorded that was to cross soon.
};

class SyncLoop {
 public:
    // Calls `on_storage_failure` when the outbox fails for another reason than want of room: what is stored
    // is then in doubt and the process has to end.
    SyncLoop(std::string clinic, SyncMachine machine, Timetable timetable, LoopPorts ports,
             std::function<void(const Error&)> on_storage_failure);

    // How long after something was recorded a pass is to start. It is drawn anew each time: many homes give
    // at the same time of day, and what belongs together is often written down together.
    struct Soon {
        std::chrono::microseconds least = std::chrono::seconds{30};
        std::chrono::microseconds most = std::chrono::minutes{5};
    };
    void send_as_it_happens(Soon soon) { soon_ = soon; }

    // Arms the timetable; starts a pass at once when the last night's was missed or cut short, or when one
    // was left to do.
    void start(const LeftToDo& left = {});

    // Something was recorded for this clinic.
    void on_recorded();

    // A pass that a person asked for. While one runs this ends its current wait, if any, also for room on the
    // disk; but not until nothing can arrive any more: that takes its time.
    void request_pass();

    // Stops where nothing is under way and everything that the clinic answered is written down: at once, or
    // after the requests for what was taken out. Calls `halted` then, perhaps from inside.
    void halt(std::function<void()> halted);
    // After it: what is left to do, also what came since.
    const LeftToDo& left_to_do() const { return left_; }

    // Ends all waiting. A request under way is left to the port; what was under way stays recorded so.
    void stop();

    bool is_running() const { return !machine_.is_resting(); }
    const std::string& clinic() const { return clinic_; }
    const logbook::ClinicState& state() const { return machine_.state(); }

    // How many passes came to which end since the start.
    using Passes = std::map<PassResult, std::int64_t>;
    const Passes& passes() const { return passes_; }
    // Of the newest that ended, also before the start.
    const std::optional<PassResult>& result() const { return machine_.result(); }
    // By the newest pass that looked, also one of an earlier process.
    std::size_t persons_left_out() const { return machine_.persons_left_out(); }
    // Whether it waits for room on the disk.
    bool waits_for_room() const { return held_up_.has_value(); }
    const JobBuilder& builder() const { return machine_.builder(); }

 private:
    void begin(const PassRequested& requested);
    // Starts a pass when a night's start has come or was missed, also after the clock was set; comes back by
    // itself.
    void tend();
    void perform(Action action);
    // Disk actions answer at once: the next action, or nothing when it has to be tried again or all is over.
    std::optional<Action> perform_on_disk(const Action& action);
    std::optional<Action> on_disk_error(const Error& error, const Action& action);
    void end_pass();
    void come_to_a_halt();
    void send(HttpRequest request);
    void on_reply(Reply reply);
    void close_connections();
    void feed(Event event);

    std::string clinic_;
    SyncMachine machine_;
    Timetable timetable_;
    LoopPorts ports_;
    KeepAlive keep_alive_;
    std::optional<Soon> soon_;
    std::optional<Action> held_up_;    // For want of room on the disk; pass_alarm rings for another try.
    bool is_soon_set_ = false;         // pass_alarm rings for a pass as it happens.
    bool recorded_meanwhile_ = false;  // Since the running pass began.
    std::function<void(const Error&)> on_storage_failure_;
    Passes passes_{{PassResult::all_sent, 0}, {PassResult::stopped, 0}, {PassResult::out_of_time, 0}};
    bool stopped_ = false;
    std::function<void()> on_halted_;  // Set while it is coming to a halt.
    LeftToDo left_;
};

}  // namespace nightferry::sync
