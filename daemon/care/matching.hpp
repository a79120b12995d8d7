// Which given dose belongs to which slot.
//
// The assignment keeps order (an earlier dose never belongs to a later slot than a later dose does), makes as
// many pairs as it can within the limits, and among those the least sum of deviations; what is still open is
// settled in favour of the earlier dose and the earlier slot. It therefore depends on what was given and
// when, and on nothing else: not on the order in which entries arrived.
#pragma once

#include <chrono>
#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "daemon/core/time.hpp"

namespace nightferry::care {

// How far from its slot a dose may be; the clinic's to configure. The defaults follow a children's clinic
// sheet for twelve-hourly enoxaparin, by which a dose is given late until six hours before the next one, and
// a quarter of the interval on the early side, usual in electronic monitoring of adherence.
struct MatchLimits {
    std::chrono::minutes early_max{180};
    std::chrono::minutes late_max{360};

    bool operator==(const MatchLimits&) const = default;
};

// The slots that a dose may belong to: first to last, the last not included.
struct Window {
    std::size_t first = 0;
    std::size_t last = 0;
    bool operator==(const Window&) const = default;
};

// Of each given dose; both lists rise.
std::vector<Window> windows_of(std::span<const Instant> slots, std::span<const Instant> given,
                               const MatchLimits& limits);

// `slots` and `given` rise (given not strictly). For each given dose the index of its slot, or nothing.
// Time and memory grow with the number of slots within the limits of each dose.
std::vector<std::optional<std::size_t>> match(std::span<const Instant> slots, std::span<const Instant> given,
                                              const MatchLimits& limits);

// How the time of a matched dose is called; every limit is the clinic's to configure.
enum class Timing { on_time, early, late, very_late };

struct TimingLimits {
    std::chrono::minutes on_time{
        60};                         // Either way, inclusive: as for medicines given twice a day (ISMP 2011).
    std::chrono::minutes late{180};  // After which it is very late: a quarter of twelve hours.

    bool operator==(const TimingLimits&) const = default;
};

// `deviation` is given minus scheduled, within the match limits.
Timing timing_of(std::chrono::microseconds deviation, const TimingLimits& limits);

}  // namespace nightferry::care
