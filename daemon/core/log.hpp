// The log port. An event has a stable name and a few facts; entries, names and clinics' words never go in,
// because logs are read by people who must not see health data.
#pragma once

#include <cassert>
#include <initializer_list>
#include <span>
#include <string>
#include <string_view>
#include <utility>

#include "daemon/core/log_events.hpp"

namespace nightferry {

class Log {
 public:
    using Fact = std::pair<std::string_view, std::string>;
    virtual ~Log() = default;

    // Only facts of those keys that the event bears.
    void event(LogEvent what, std::initializer_list<Fact> facts = {}) {
        for (const Fact& fact : facts)
            assert(bears(kind_of(what), fact.first));
        take(what, {facts.begin(), facts.size()});
    }
    // The same, for a log that stands before another.
    void pass_on(LogEvent what, std::span<const Fact> facts) { take(what, facts); }

 protected:
    virtual void take(LogEvent what, std::span<const Fact> facts) = 0;
};

}  // namespace nightferry
