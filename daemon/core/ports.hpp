// The doors through which time and chance enter. Production opens them in daemon/net; a simulated world
// opens its own.
#pragma once

#include <chrono>
#include <cstdint>
#include <functional>
#include <string>

#include "daemon/core/time.hpp"

namespace nightferry {

class Clock {
 public:
    virtual ~Clock() = default;
    // The wall clock: for dating data. It may jump and may be wrong.
    virtual Instant now() const = 0;
};

class Random {
 public:
    virtual ~Random() = default;
    // Uniform in [0, bound); 0 when bound is 0.
    virtual std::uint64_t below(std::uint64_t bound) = 0;
};

// What nobody may guess: codes and tokens are made of it.
class Secrets {
 public:
    virtual ~Secrets() = default;
    virtual std::string bytes(std::size_t count) = 0;
};

// Calls back once after a span of monotonic time, unless cancelled or replaced by a later call.
class Alarm {
 public:
    virtual ~Alarm() = default;
    virtual void after(std::chrono::microseconds span, std::function<void()> ring) = 0;
    virtual void cancel() = 0;
};

}  // namespace nightferry
