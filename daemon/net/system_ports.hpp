// The real clock, real chance and real alarms. No other file of the daemon reads a clock.
#pragma once

#include <memory>

#include "daemon/core/ports.hpp"

namespace boost::asio {
class io_context;
}

namespace nightferry::net {

class SystemClock final : public Clock {
 public:
    Instant now() const override;
};

// From the operating system's generator.
class SystemRandom final : public Random {
 public:
    std::uint64_t below(std::uint64_t bound) override;
};

// From OpenSSL's generator, which the operating system's seeds. Throws where that has none to give.
class SystemSecrets final : public Secrets {
 public:
    std::string bytes(std::size_t count) override;
};

// Runs on the event loop, by the monotonic clock.
class LoopAlarm final : public Alarm {
 public:
    explicit LoopAlarm(boost::asio::io_context& loop);
    ~LoopAlarm() override;
    void after(std::chrono::microseconds span, std::function<void()> ring) override;
    void cancel() override;

 private:
    struct Timer;
    std::shared_ptr<Timer> timer_;
};

}  // namespace nightferry::net
