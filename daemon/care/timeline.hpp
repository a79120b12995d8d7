// Every slot of a stretch of time with what became of it, and every given dose with the slot it belongs to.
//
// A slot without a dose is still due until its late limit has passed; then there is no record of it, unless
// somebody declared that it was missed. "No record" and "missed" are different facts, and neither says that
// nothing was given.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "daemon/care/amounts.hpp"
#include "daemon/care/matching.hpp"
#include "daemon/care/slots.hpp"

namespace nightferry::care {

// A dose that counts: after corrections, without what was recorded twice and what is still undecided.
struct GivenDose {
    Instant at;
    DoseSize size;
    std::string by;    // Key of the carer.
    Instant recorded;  // When it was written down.
};

enum class SlotFate { given, held, missed, no_record, due };

struct SlotRecord {
    Slot slot;
    DoseSize ordered;
    SlotFate fate = SlotFate::due;
    std::optional<std::size_t> dose;  // Index into Timeline::doses, when given.
};

struct DoseRecord {
    GivenDose given;
    std::optional<std::size_t> slot;  // Index into Timeline::slots; none for an extra dose.
    Timing timing = Timing::on_time;  // Of a dose that has a slot.
    bool while_held = false;          // Extra, and within the limits of a slot that was held.
};

struct Timeline {
    std::vector<SlotRecord> slots;  // Rising.
    std::vector<DoseRecord> doses;  // Rising.

    std::chrono::microseconds deviation_of(const DoseRecord& dose) const {
        return dose.given.at - slots[*dose.slot].slot.due.at;
    }
};

struct TimelineLimits {
    MatchLimits match;
    TimingLimits timing;
};

// `given` in any order; `missed` are the due times that somebody declared as missed; `now` decides what is
// still due. Slots whose ordered amount does not fit the medicine are left out with their doses unmatched, so
// `medicine` has to be that of the regimen's orders.
Timeline timeline_of(const Regimen& regimen, const entry::Medicine& medicine, Instant from, Instant to,
                     std::vector<GivenDose> given, const std::vector<Instant>& missed, Instant now,
                     const TimelineLimits& limits);

}  // namespace nightferry::care
