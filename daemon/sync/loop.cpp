#include "daemon/sync/loop.hpp"

#include <algorithm>

namespace nightferry::sync {

namespace {

std::string outcome_of(const Reply& reply) {
    if (const auto* answer = std::get_if<HttpAnswer>(&reply)) return "http_" + std::to_string(answer->status);
    switch (std::get<NoAnswer>(reply).reached) {
        case NoAnswer::Reached::no:
            return "unreachable";
        case NoAnswer::Reached::untrusted:
            return "untrusted";
        case NoAnswer::Reached::perhaps:
            return "no_answer";
    }
    return {};
}

bool is_good(const Reply& reply) {
    const auto* answer = std::get_if<HttpAnswer>(&reply);
    return answer != nullptr && answer->status < 300;
}

// The clock may be set while we sleep, so no sleep is longer than this.
constexpr std::chrono::microseconds longest_sleep = std::chrono::minutes{15};

}  // namespace

SyncLoop::SyncLoop(std::string clinic, SyncMachine machine, Timetable timetable, ClinicPort& port,
                   OutboxPort& outbox, Clock& clock, Alarm& retry_alarm, Alarm& window_alarm, Log& log,
                   std::function<void(const Error&)> on_storage_failure)
    : clinic_(std::move(clinic)),
      machine_(std::move(machine)),
      timetable_(std::move(timetable)),
      port_(port),
      outbox_(outbox),
      clock_(clock),
      retry_alarm_(retry_alarm),
      window_alarm_(window_alarm),
      log_(log),
      on_storage_failure_(std::move(on_storage_failure)) {}

void SyncLoop::start() {
    const logbook::ClinicState& state = machine_.state();
    const bool cut_short = state.pass_ended < state.pass_started;
    tend();
    if (cut_short && !is_running()) begin({false, std::nullopt});
}

void SyncLoop::tend() {
    const Instant now = clock_.now();
    const Timetable::Night night = timetable_.latest(now);
    // A pass that ended in the future ended by a clock that was wrong.
    const Instant ended = machine_.state().pass_ended;
    if (!is_running() && (ended < night.start || ended > now)) {
        // A night that was missed is caught up all the same when its window is over.
        begin({false, now < night.end ? std::optional(night.end) : std::nullopt});
    }
    const auto span = timetable_.next(now).start - now;
    window_alarm_.after(std::min<std::chrono::microseconds>(span, longest_sleep), [this] { tend(); });
}

void SyncLoop::request_pass() {
    if (machine_.is_resting()) {
        begin({true, std::nullopt});
    } else if (machine_.is_waiting()) {
        retry_alarm_.cancel();
        feed(PassRequested{true, std::nullopt});
    }
}

void SyncLoop::begin(const PassRequested& requested) {
    log_.event(Level::info, "pass_started", {{"clinic", clinic_}});
    feed(requested);
}

void SyncLoop::stop() {
    stopped_ = true;
    retry_alarm_.cancel();
    window_alarm_.cancel();
}

void SyncLoop::feed(Event event) {
    if (stopped_) return;
    perform(machine_.on(std::move(event), clock_.now()));
}

void SyncLoop::perform(Action action) {
    // Disk actions answer at once; the loop runs until one has to wait for the world.
    while (!stopped_) {
        if (const auto* take = std::get_if<Take>(&action)) {
            auto parcels = outbox_.take(take->limit, take->without);
            if (!parcels) return on_storage_failure_(parcels.error());
            action = machine_.on(Taken{std::move(*parcels)}, clock_.now());
        } else if (const auto* settle = std::get_if<Settle>(&action)) {
            const auto settled = outbox_.settle(settle->settlements, settle->state);
            if (!settled) return on_storage_failure_(settled.error());
            action = machine_.on(Settled{}, clock_.now());
        } else if (auto* send = std::get_if<Send>(&action)) {
            port_.send(std::move(send->request), [this](Reply reply) {
                if (!is_good(reply)) {
                    log_.event(Level::warning, "clinic_answer",
                               {{"clinic", clinic_}, {"outcome", outcome_of(reply)}});
                }
                feed(Replied{std::move(reply)});
            });
            return;
        } else if (const auto* wait = std::get_if<Wait>(&action)) {
            const auto seconds = std::chrono::duration_cast<std::chrono::seconds>(wait->span).count();
            log_.event(Level::info, "pass_waits",
                       {{"clinic", clinic_}, {"seconds", std::to_string(seconds)}});
            port_.rest();
            retry_alarm_.after(wait->span, [this] { feed(Rang{}); });
            return;
        } else {
            const logbook::ClinicState& state = machine_.state();
            const bool stopped = state.words.starts_with("stopped");
            const std::size_t left_out = machine_.persons_left_out();
            log_.event(stopped || left_out > 0 ? Level::warning : Level::info, "pass_ended",
                       {{"clinic", clinic_},
                        {"confirmed", std::to_string(state.pass_confirmed)},
                        {"set_aside", std::to_string(state.pass_set_aside)},
                        {"persons_left_out", std::to_string(left_out)},
                        {"stopped", stopped ? "yes" : "no"}});
            port_.rest();
            return;
        }
    }
}

}  // namespace nightferry::sync
