// Whether a clinic's server may have been put back to a backup since it was last heard.
//
// For that it is stopped, its data are replaced, and it is started again. Meanwhile it is not heard, so one
// that was heard lately is still the same. A wait is counted as well as read off the clock, which can be set.
#pragma once

#include <chrono>
#include <optional>

#include "daemon/core/time.hpp"

namespace nightferry::sync {

class Presence {
 public:
    // `silence_max`: nobody puts a server back within less.
    explicit Presence(std::chrono::microseconds silence_max) : silence_max_(silence_max) {}

    // It answered.
    void heard(Instant now);
    // Nothing is asked for as long as this, or less when somebody cuts the wait short.
    void waited(std::chrono::microseconds span);
    // Nothing depends any more on what it answered before.
    void forget() { heard_.reset(); }

    // False while nothing was heard that anything could depend on.
    bool may_have_been_put_back(Instant now) const;

 private:
    struct Heard {
        Instant at;
        std::chrono::microseconds waited{0};  // Since then.
    };
    std::chrono::microseconds silence_max_;
    std::optional<Heard> heard_;
};

}  // namespace nightferry::sync
