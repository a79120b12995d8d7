// Calendar days as a home lives them.
#pragma once

#include <chrono>

#include "daemon/core/time.hpp"
#include "daemon/core/zone.hpp"

namespace nightferry::care {

// What the clock shows at home.
std::chrono::local_time<std::chrono::microseconds> clock_at(const Zone& home, Instant at);

// The day that it is at home.
std::chrono::local_days day_of(const Zone& home, Instant at);

// When a day begins at home: midnight, or when the clocks skip it, the first moment after.
Instant start_of(const Zone& home, std::chrono::local_days day);

// The Monday of the week that a day lies in (ISO 8601 begins weeks on Mondays).
std::chrono::local_days monday_of(std::chrono::local_days day);

}  // namespace nightferry::care
