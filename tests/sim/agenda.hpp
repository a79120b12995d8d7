// What is going to happen in a simulated world, and when, by a clock that never jumps.
#pragma once

#include <chrono>
#include <cstdint>
#include <functional>
#include <map>
#include <utility>

#include "daemon/core/ports.hpp"

namespace nightferry::sim {

using Span = std::chrono::microseconds;

class Agenda {
 public:
    // Since the beginning of the world.
    Span now() const { return now_; }

    // What is put down for the same moment happens in the order in which it was put down.
    std::uint64_t after(Span span, std::function<void()> what) {
        const std::uint64_t number = ++last_;
        const Key key{now_ + span, number};
        events_.emplace(key, std::move(what));
        keys_.emplace(number, key);
        return number;
    }
    void cancel(std::uint64_t number) {
        const auto key = keys_.find(number);
        if (key == keys_.end()) return;
        events_.erase(key->second);
        keys_.erase(key);
    }
    // Lets the next event happen if it comes before `end`; otherwise the clock goes there and false returns.
    bool step(Span end) {
        if (events_.empty() || events_.begin()->first.first >= end) {
            now_ = end;
            return false;
        }
        auto node = events_.extract(events_.begin());
        keys_.erase(node.key().second);
        now_ = node.key().first;
        node.mapped()();
        return true;
    }

 private:
    using Key = std::pair<Span, std::uint64_t>;

    Span now_{0};
    std::uint64_t last_ = 0;
    std::map<Key, std::function<void()>> events_;
    std::map<std::uint64_t, Key> keys_;
};

// The hub's wall clock: right, or off by what somebody or something did to it.
class WallClock final : public Clock {
 public:
    WallClock(const Agenda& agenda, Instant beginning) : agenda_(agenda), beginning_(beginning) {}
    Instant now() const override { return true_time() + offset; }
    Instant true_time() const { return beginning_ + agenda_.now(); }

    Span offset{0};

 private:
    const Agenda& agenda_;
    const Instant beginning_;
};

class AgendaAlarm final : public Alarm {
 public:
    explicit AgendaAlarm(Agenda& agenda) : agenda_(agenda) {}
    ~AgendaAlarm() override { cancel(); }
    void after(Span span, std::function<void()> ring) override {
        cancel();
        set_ = agenda_.after(span, [this, ring = std::move(ring)] {
            set_ = 0;
            ring();
        });
    }
    void cancel() override {
        if (set_ != 0) agenda_.cancel(std::exchange(set_, 0));
    }

 private:
    Agenda& agenda_;
    std::uint64_t set_ = 0;
};

}  // namespace nightferry::sim
