// What the clinic ordered: medicine, amounts and times of day, in versions, with the times at which it said
// to hold. Plain values; nothing here advises anything.
//
// Invariants (checked when settings are loaded):
//   (1) Orders are sorted by `from`, and each has at least one slot a day, sorted by clock time, no two
//   alike. (2) An order governs the slots from its `from` on, until the next one's `from`: what was due
//   before stays
//       as it was ordered then.
#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <vector>

#include "daemon/core/time.hpp"
#include "daemon/core/zone.hpp"
#include "daemon/entry/entry.hpp"

namespace nightferry::care {

// One dose a day.
struct DailyDose {
    std::chrono::minutes clock{0};  // Since local midnight.
    entry::Amount amount;
};

// One version of the order.
struct Order {
    LocalSecond from;      // Slots at or after this local time are governed by it.
    Zone zone;             // In which the clock times are meant. A journey changes it only by a new version.
    std::string medicine;  // Key of the household's medicine.
    std::vector<DailyDose> doses;
};

// Slots that the clinic said to leave out.
struct Hold {
    Instant from;               // The first slot held is at or after this,
    Instant until;              // and the last one before this.
    std::string instructed_by;  // Who at the clinic said so,
    Instant told;               // and when; before that nobody knew.
    std::string reason;
};

struct Regimen {
    std::vector<Order> orders;
    std::vector<Hold> holds;
    std::optional<Instant> end;  // No slot at or after this.
};

}  // namespace nightferry::care
