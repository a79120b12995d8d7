#include "daemon/care/supply.hpp"

#include <algorithm>
#include <cstdint>
#include <iterator>
#include <vector>

namespace nightferry::care {

using std::chrono::days;
using std::chrono::sys_days;

Supply supply_of(std::span<const Fill> fills, sys_days from, sys_days to) {
    std::vector<Fill> in_period;
    std::ranges::copy_if(fills, std::back_inserter(in_period),
                         [&](const Fill& fill) { return from <= fill.on && fill.on < to && fill.days > 0; });
    std::ranges::sort(in_period, {}, &Fill::on);

    const std::int64_t all = std::max(to - from, days{0}).count();
    Supply supply{{0, all}, {0, all}};
    sys_days used_up = from;  // The first day on which nothing is at hand any more.
    for (const Fill& fill : in_period) {
        supply.possession.n += fill.days;
        const sys_days begins = std::max(used_up, fill.on);
        used_up = begins + days{fill.days};
        supply.covered.n += std::max(std::min(used_up, to) - begins, days{0}).count();
    }
    return supply;
}

}  // namespace nightferry::care
