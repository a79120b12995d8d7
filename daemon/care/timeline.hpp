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

#include "daemon/care/doubles.hpp"
#include "daemon/care/known.hpp"
#include "daemon/care/matching.hpp"
#include "daemon/care/slots.hpp"

namespace nightferry::care {

enum class SlotFate {
    given,
    held,
    missed,     // Somebody said so.
    undecided,  // Only a provisional dose could fill it.
    no_record,
    due,
};

struct SlotRecord {
    Slot slot;
    std::string medicine;  // Key of the ordered one.
    DoseSize ordered;
    SlotFate fate = SlotFate::due;
    std::optional<std::size_t> dose;        // Index into Timeline::doses, when given.
    std::optional<EntryId> declared;        // The entry by which somebody declared it held or missed,
    std::optional<entry::WhyNotGiven> why;  // and why;
    std::string instructed_by;              // who at the clinic said to hold it, where known.
};

struct DoseRecord {
    GivenDose given;
    std::optional<std::size_t> slot;  // Index into Timeline::slots; none for an extra dose.
    Timing timing = Timing::on_time;  // Of a dose that has a slot.
    bool while_held = false;          // Extra, and within the limits of a slot that was held.
};

struct Timeline {
    std::vector<SlotRecord> slots;        // Rising.
    std::vector<DoseRecord> doses;        // Those that count, rising.
    std::vector<GivenDose> provisional;   // Those that wait for a person to decide; rising.
    std::vector<PossibleDouble> doubles;  // Indices into the known doses.

    std::chrono::microseconds deviation_of(const DoseRecord& dose) const {
        return dose.given.at - slots[*dose.slot].slot.due.at;
    }
};

struct TimelineLimits {
    MatchLimits match;
    TimingLimits timing;
    DoubleLimits doubles;
};

// The slots with from <= due < to, and all known doses; `now` decides what is still due. A dose declared as
// not given belongs to the slot that lies next to its time within the match limits, whatever became of that:
// when the clinic said to leave it out, the slot is held like those of the regimen's own holds; otherwise it
// is missed, unless a dose fills it. Slots whose medicine the household does not name are left out; settings
// are loaded so that there are none.
Timeline timeline_of(const Regimen& regimen, const entry::Household& household, Instant from, Instant to,
                     const Known& known, Instant now, const TimelineLimits& limits);

}  // namespace nightferry::care
