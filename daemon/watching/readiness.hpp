// Whether the hub can do its work now, and why not.
//
// A logbook that failed in another way than for want of room ends the process, so nobody answers then.
#pragma once

#include <string>
#include <vector>

#include "daemon/watching/reading.hpp"

namespace nightferry::watching {

// With less than this nothing is taken in soon: the room that a few days of entries need.
inline constexpr std::uint64_t room_min_bytes = 1024 * 1024;

// A sentence for each thing in the way, with what to do; none: it is ready.
std::vector<std::string> not_ready_because(const Condition& condition);

}  // namespace nightferry::watching
