// A small world for SyncLoop: a clock that moves only when somebody waits, alarms that ring when the world
// says so, a real logbook, and a clinic behind a line that can fail at a chosen call.
#pragma once

#include <deque>
#include <functional>
#include <string>
#include <vector>

#include "daemon/sync/loop.hpp"
#include "tests/daemon/logbook/open_logbook.hpp"
#include "tests/daemon/sync/clinic.hpp"
#include "tests/daemon/sync/quick_disk.hpp"
#include "tests/daemon/sync/script.hpp"

namespace nightferry::test {

struct SetClock final : Clock {
    Instant time = test_now();
    Instant now() const override { return time; }
};

struct HandAlarm final : Alarm {
    std::optional<std::chrono::microseconds> span;
    std::function<void()> callback;
    void after(std::chrono::microseconds wanted, std::function<void()> ring) override {
        span = wanted;
        callback = std::move(ring);
    }
    void cancel() override { span.reset(); }
    // Lets the span go by and rings.
    void ring(SetClock& clock) {
        clock.time += span.value();
        span.reset();
        std::exchange(callback, nullptr)();
    }
};

struct KeptLog final : Log {
    std::vector<std::string> lines;
    void take(LogEvent what, std::span<const Fact> facts) override {
        std::string line(kind_of(what).name);
        for (const auto& [key, value] : facts)
            line += " " + std::string(key) + "=" + value;
        lines.push_back(std::move(line));
    }
};

enum class Fault { none, not_reached, answer_lost, server_error };

// The line to the clinic. What goes wrong goes wrong at call `fault_at`, counted from 1, and only there.
struct Line final : sync::ClinicPort {
    explicit Line(Clinic& at_the_end) : clinic(at_the_end) {}

    void send(HttpRequest request, std::function<void(sync::Reply)> done) override {
        EXPECT_FALSE(waiting) << "a second request at once";
        ++calls;
        under_way = std::move(request);
        waiting = [this, done = std::move(done), faulty = calls == fault_at] {
            done(reply(under_way, faulty ? fault : Fault::none));
        };
    }
    void rest() override { ++rests; }
    sync::Reply reply(const HttpRequest& request, Fault now) {
        using Reached = sync::NoAnswer::Reached;
        if (now == Fault::not_reached) return sync::NoAnswer{Reached::no, "no route"};
        if (now == Fault::server_error) return outcome(500, "juniper broke it");
        HttpAnswer answer = clinic.answer(request);
        if (now == Fault::answer_lost) return sync::NoAnswer{Reached::perhaps, "cut off"};
        return answer;
    }

    Clinic& clinic;
    int calls = 0;
    int fault_at = 0;
    Fault fault = Fault::none;
    int rests = 0;
    HttpRequest under_way;
    std::function<void()> waiting;  // Answers it; empty when none is under way.
};

// The outbox of the clinic "north"; its disk can be broken.
struct NorthOutbox final : sync::OutboxPort {
    NorthOutbox(OpenLogbook& logbook, SetClock& now) : log(logbook), clock(now) {}
    Result<std::vector<logbook::Parcel>> take(const logbook::TakeOrder& order, bool) override {
        if (take_fails) return Error{Errc::storage, "the disk failed"};
        if (take_has_no_room) return Error{Errc::disk_full, "no room"};
        return log.outbox().take("north", order, clock.now());
    }
    Result<std::vector<logbook::Parcel>> recall(std::int64_t below, std::size_t limit) override {
        if (recall_has_no_room) return Error{Errc::disk_full, "no room"};
        return log.outbox().recall("north", below, limit);
    }
    Result<void> settle(std::span<const logbook::Settlement> settlements,
                        const logbook::ClinicState& state) override {
        if (settle_fails) return Error{Errc::disk_full, "no room"};
        return log.outbox().settle("north", settlements, state, clock.now());
    }
    Result<logbook::ClinicState> state() override { return log.outbox().state("north"); }

    OpenLogbook& log;
    SetClock& clock;
    bool take_fails = false;
    bool take_has_no_room = false;
    bool recall_has_no_room = false;
    bool settle_fails = false;
};

struct QuickDisk {
    QuickDisk() { skip_disk_syncs(); }
};

// Draws these, as far as the bounds allow, and then the largest number every time.
struct ChosenDraws final : Random {
    std::deque<std::uint64_t> next;
    std::uint64_t below(std::uint64_t bound) override {
        const std::uint64_t largest = bound == 0 ? 0 : bound - 1;
        if (next.empty()) return largest;
        const std::uint64_t drawn = next.front();
        next.pop_front();
        return std::min(drawn, largest);
    }
};

class World {
 public:
    explicit World(std::size_t deliveries_per_bundle = 50) {
        policy_.deliveries_per_bundle_max = deliveries_per_bundle;
    }

    QuickDisk disk;
    OpenLogbook log;
    Clinic clinic;
    SetClock clock;
    HandAlarm retry;
    HandAlarm window;
    KeptLog events;
    Line line{clinic};
    NorthOutbox outbox{log, clock};
    std::vector<Error> failures;
    std::deque<std::uint64_t>& draws = random_.next;
    std::vector<sync::PatientToFind> patients;  // When there are any, nobody is known by reference.

    // A daemon that starts with what the logbook remembers.
    sync::SyncLoop& start(const sync::LeftToDo& left = {}) {
        const auto state = outbox.state().value();
        loop_.emplace(
            "north",
            sync::SyncMachine(policy_, patients.empty() ? mapper() : mapper({}), patients, state, random_),
            sync::Timetable({std::chrono::hours{1}, std::chrono::hours{5}}, *Zone::find("Europe/Dublin"),
                            "test-home"),
            sync::LoopPorts{line, outbox, clock, random_, retry, window, events},
            [this](const Error& error) { failures.push_back(error); });
        loop_->start(left);
        return *loop_;
    }
    sync::SyncLoop& loop() { return *loop_; }

    // The process dies at once; the next one opens the logbook again.
    void kill_and_start() {
        loop_.reset();
        line.waiting = nullptr;
        retry.cancel();
        window.cancel();
        log.reopen();
        start();
    }

    // Lets the request under way be answered; false when there is none.
    bool answer() {
        if (!line.waiting) return false;
        std::exchange(line.waiting, nullptr)();
        return true;
    }
    // Goes on until nothing happens any more but the next night.
    void settle_down() {
        for (int steps = 0; steps < 10'000; ++steps) {
            if (answer()) continue;
            if (!retry.span) return;
            retry.ring(clock);
        }
        ADD_FAILURE() << "it never comes to rest";
    }

    std::string queue() {
        const logbook::QueueCounts counts = log.outbox().counts("north").value();
        return std::to_string(counts.waiting) + " waiting, " + std::to_string(counts.confirmed) +
               " confirmed, " + std::to_string(counts.set_aside) + " set aside";
    }
    // Exactly one resource for the entry, as the revision in effect says it.
    void expect_arrived(const std::string& label) {
        EXPECT_THAT(clinic.held(label), testing::SizeIs(1)) << label;
        EXPECT_TRUE(clinic.holds(label, log.record(label).current)) << label;
    }

 private:
    sync::Policy policy_;
    ChosenDraws random_;
    std::optional<sync::SyncLoop> loop_;
};

}  // namespace nightferry::test
