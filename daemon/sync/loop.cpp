#include "daemon/sync/loop.hpp"

#include <algorithm>

#include "daemon/sync/marks.hpp"

namespace nightferry::sync {

namespace {

LogEvent event_of(PassResult result) {
    switch (result) {
        case PassResult::all_sent:
            return LogEvent::pass_ended;
        case PassResult::stopped:
            return LogEvent::pass_stopped;
        case PassResult::out_of_time:
            return LogEvent::pass_out_of_time;
    }
    return LogEvent::pass_ended;
}

std::string outcome_of(const Reply& reply) {
    if (const auto* answer = std::get_if<HttpAnswer>(&reply)) return "http_" + std::to_string(answer->status);
    return std::string(word_for(std::get<NoAnswer>(reply).reached));
}

bool is_good(const Reply& reply) {
    const auto* answer = std::get_if<HttpAnswer>(&reply);
    return answer != nullptr && answer->status < 300;
}

// Before these every parcel that was taken out is settled.
bool leaves_nothing_open(const Action& action) {
    return std::holds_alternative<Take>(action) || std::holds_alternative<Recall>(action) ||
           std::holds_alternative<Wait>(action);
}

// The clock may be set while we sleep, so no sleep is longer than this.
constexpr std::chrono::microseconds longest_sleep = std::chrono::minutes{15};
// Between looks whether there is room on the disk again.
constexpr std::chrono::microseconds disk_full_pause = std::chrono::minutes{1};

}  // namespace

SyncLoop::SyncLoop(std::string clinic, SyncMachine machine, Timetable timetable, LoopPorts ports,
                   std::function<void(const Error&)> on_storage_failure)
    : clinic_(std::move(clinic)),
      machine_(std::move(machine)),
      timetable_(std::move(timetable)),
      ports_(ports),
      on_storage_failure_(std::move(on_storage_failure)) {}

void SyncLoop::start(const LeftToDo& left) {
    const logbook::ClinicState& state = machine_.state();
    const bool cut_short = left.pass || state.pass_ended < state.pass_started;
    tend();
    if (cut_short && !is_running()) begin({false, std::nullopt});
    if (left.request) request_pass();
    if (left.recorded) on_recorded();
}

void SyncLoop::tend() {
    const Instant now = ports_.clock.now();
    const Timetable::Night night = timetable_.latest(now);
    // A pass that ended in the future ended by a clock that was wrong.
    const Instant ended = machine_.state().pass_ended;
    if (!is_running() && (ended < night.start || ended > now)) {
        // A night that was missed is caught up all the same when its window is over.
        begin({false, now < night.end ? std::optional(night.end) : std::nullopt});
    }
    const auto span = timetable_.next(now).start - now;
    ports_.night_alarm.after(std::min<std::chrono::microseconds>(span, longest_sleep), [this] { tend(); });
}

void SyncLoop::on_recorded() {
    if (!soon_) return;
    left_.recorded = left_.recorded || stopped_;
    if (stopped_) return;
    recorded_meanwhile_ = is_running();
    if (is_running() || is_soon_set_) return;
    const auto spread = static_cast<std::uint64_t>((soon_->most - soon_->least).count());
    const auto drawn = static_cast<std::int64_t>(ports_.random.below(spread + 1));
    is_soon_set_ = true;
    ports_.pass_alarm.after(soon_->least + std::chrono::microseconds{drawn}, [this] {
        is_soon_set_ = false;
        if (machine_.is_resting()) begin({false, std::nullopt});
    });
}

void SyncLoop::request_pass() {
    if (stopped_) {
        left_.request = true;
    } else if (machine_.is_resting()) {
        begin({true, std::nullopt});
    } else if (machine_.is_waiting() && !machine_.is_waiting_for_quiet()) {
        ports_.pass_alarm.cancel();
        feed(PassRequested{true, std::nullopt});
    } else if (held_up_) {
        ports_.pass_alarm.cancel();
        perform(*std::exchange(held_up_, std::nullopt));
    }
}

void SyncLoop::begin(const PassRequested& requested) {
    if (std::exchange(is_soon_set_, false)) ports_.pass_alarm.cancel();
    recorded_meanwhile_ = false;
    ports_.log.event(LogEvent::pass_started, {{"clinic", clinic_}});
    feed(requested);
}

void SyncLoop::halt(std::function<void()> halted) {
    on_halted_ = std::move(halted);
    const bool is_held_up = held_up_ && leaves_nothing_open(*held_up_);
    if (machine_.is_resting() || machine_.is_waiting() || is_held_up) come_to_a_halt();
}

void SyncLoop::come_to_a_halt() {
    // The machine may not have stored yet that a pass has begun.
    left_.pass = is_running();
    left_.recorded = is_soon_set_ || recorded_meanwhile_;
    ports_.clinic.rest();
    stop();
    std::exchange(on_halted_, nullptr)();
}

void SyncLoop::stop() {
    stopped_ = true;
    ports_.pass_alarm.cancel();
    ports_.night_alarm.cancel();
}

void SyncLoop::feed(Event event) {
    if (stopped_) return;
    perform(machine_.on(std::move(event), ports_.clock.now()));
}

std::optional<Action> SyncLoop::perform_on_disk(const Action& action) {
    Event done = Settled{};
    if (const auto* take = std::get_if<Take>(&action)) {
        auto parcels = ports_.outbox.take(take->order, take->clock_in_doubt);
        if (!parcels) return on_disk_error(parcels.error(), action);
        done = Taken{std::move(*parcels)};
    } else if (const auto* recall = std::get_if<Recall>(&action)) {
        auto parcels = ports_.outbox.recall(recall->below, recall->limit);
        if (!parcels) return on_disk_error(parcels.error(), action);
        done = Recalled{std::move(*parcels)};
    } else if (const auto* keep = std::get_if<KeepOrders>(&action)) {
        auto history = ports_.outbox.keep_orders(keep->seen);
        if (!history) return on_disk_error(history.error(), action);
        if (!keep->seen.failure.empty()) ports_.log.event(LogEvent::orders_not_read, {{"clinic", clinic_}});
        done = OrdersKept{std::move(*history)};
    } else {
        const auto& settle = std::get<Settle>(action);
        const auto settled = ports_.outbox.settle(settle.settlements, settle.state);
        if (!settled) return on_disk_error(settled.error(), action);
    }
    return machine_.on(std::move(done), ports_.clock.now());
}

std::optional<Action> SyncLoop::on_disk_error(const Error& error, const Action& action) {
    if (error.code != Errc::disk_full) {
        reached(Mark::storage_failed_in_a_pass);
        on_storage_failure_(error);
        return std::nullopt;
    }
    reached(Mark::disk_full_in_a_pass);
    // Nothing more is sent before what the clinic answered is written down.
    ports_.log.event(LogEvent::disk_full, {{"what", "outbox"}, {"clinic", clinic_}});
    held_up_ = action;
    ports_.pass_alarm.after(disk_full_pause, [this] { perform(*std::exchange(held_up_, std::nullopt)); });
    return std::nullopt;
}

void SyncLoop::perform(Action action) {
    while (!stopped_) {
        if (on_halted_ && leaves_nothing_open(action)) return come_to_a_halt();
        if (auto* send = std::get_if<Send>(&action)) {
            return this->send(std::move(send->request));
        }
        if (const auto* wait = std::get_if<Wait>(&action)) {
            const auto seconds = std::chrono::duration_cast<std::chrono::seconds>(wait->span).count();
            ports_.log.event(LogEvent::pass_waits,
                             {{"clinic", clinic_}, {"seconds", std::to_string(seconds)}});
            close_connections();
            ports_.pass_alarm.after(wait->span, [this] { feed(Rang{}); });
            return;
        }
        if (std::holds_alternative<Rest>(action)) return end_pass();
        // The loop runs until an action has to wait for the world.
        auto next = perform_on_disk(action);
        if (!next) return;
        action = std::move(*next);
    }
}

void SyncLoop::send(HttpRequest request) {
    if (keep_alive_.is_used_up(ports_.clock.now())) close_connections();
    ports_.clinic.send(std::move(request), [this](Reply reply) { on_reply(std::move(reply)); });
}

void SyncLoop::on_reply(Reply reply) {
    if (!is_good(reply)) {
        ports_.log.event(LogEvent::clinic_answered_badly,
                         {{"clinic", clinic_}, {"outcome", outcome_of(reply)}});
    }
    if (keep_alive_.on(reply, ports_.clock.now())) {
        reached(Mark::connections_kept_short);
        ports_.log.event(LogEvent::connections_break,
                         {{"clinic", clinic_}, {"answers_each", std::to_string(*keep_alive_.most())}});
    }
    feed(Replied{std::move(reply), ports_.clinic.denied()});
}

void SyncLoop::close_connections() {
    ports_.clinic.rest();
    keep_alive_.closed();
}

void SyncLoop::end_pass() {
    const logbook::ClinicState& state = machine_.state();
    const PassResult result = machine_.result().value();
    const std::size_t left_out = machine_.persons_left_out();
    ports_.log.event(event_of(result), {{"clinic", clinic_},
                                        {"confirmed", std::to_string(state.pass_confirmed)},
                                        {"set_aside", std::to_string(state.pass_set_aside)}});
    ++passes_[result];
    if (state.pass_set_aside > 0) {
        ports_.log.event(LogEvent::set_aside,
                         {{"clinic", clinic_}, {"number", std::to_string(state.pass_set_aside)}});
    }
    if (left_out > 0) {
        ports_.log.event(LogEvent::persons_left_out,
                         {{"clinic", clinic_}, {"number", std::to_string(left_out)}});
    }
    if (machine_.is_clock_in_doubt()) {
        const auto seconds = std::chrono::duration_cast<std::chrono::seconds>(state.skew).count();
        ports_.log.event(LogEvent::clock_in_doubt,
                         {{"clinic", clinic_}, {"clinic_ahead_seconds", std::to_string(seconds)}});
    }
    if (keep_alive_.most() && result != PassResult::stopped && state.pass_confirmed > 0)
        reached(Mark::got_through_on_short_connections);
    close_connections();
    if (std::exchange(recorded_meanwhile_, false)) on_recorded();
    if (on_halted_) come_to_a_halt();
}

}  // namespace nightferry::sync
