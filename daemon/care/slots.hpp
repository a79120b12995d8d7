// The scheduled doses of a regimen as instants.
//
// A slot is ordered by the wall clock, and given at an instant: around a clock change two slots twelve hours
// apart on the clock are eleven or thirteen hours apart in time. A clock time that is skipped is meant as
// much later as the clock is put forward, and one that comes twice is meant the first time (RFC 5545 section
// 3.3.5). A day that a zone leaves out altogether has no slots of its own.
#pragma once

#include <cstddef>
#include <vector>

#include "daemon/care/regimen.hpp"

namespace nightferry::care {

struct Slot {
    Moment due;             // With the offset that the order's zone has then.
    std::size_t order = 0;  // Index into Regimen::orders.
    std::size_t dose = 0;   // Index into Order::doses.
    bool held = false;
};

// All slots with from <= due < to, in strictly rising order, held ones too.
std::vector<Slot> slots_between(const Regimen& regimen, Instant from, Instant to);

// The instant at which a clock that shows `local` in the zone is meant, by the rule above.
Moment meant_by(const Zone& zone, LocalSecond local);

const DailyDose& dose_of(const Regimen& regimen, const Slot& slot);

}  // namespace nightferry::care
