// Days covered by what was obtained: for planning refills, and kept apart from adherence. It says what was at
// hand and nothing about what was given.
#pragma once

#include <chrono>
#include <span>

#include "daemon/care/share.hpp"

namespace nightferry::care {

// What was obtained on a day, and for how many days it lasts.
struct Fill {
    std::chrono::sys_days on;
    int days = 0;
};

struct Supply {
    // Days' supply obtained in the period, of its days: the medication possession ratio. May exceed all of
    // them.
    Share possession;
    // Days with something at hand, of the days of the period: the proportion of days covered. A fill obtained
    // while there is something left is moved forward until that is used up; what reaches beyond the period is
    // cut off.
    Share covered;
};

// The period takes its first day and leaves out `to`. Fills before it, and those of no days, are left out.
// `fills` may be in any order.
Supply supply_of(std::span<const Fill> fills, std::chrono::sys_days from, std::chrono::sys_days to);

}  // namespace nightferry::care
