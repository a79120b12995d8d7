#include "daemon/care/doubles.hpp"

#include <optional>

namespace nightferry::care {

namespace {

DoubleKind kind_of(const GivenDose& earlier, const GivenDose& later, const DoubleLimits& limits) {
    const bool same = earlier.medicine == later.medicine && earlier.size.content == later.size.content;
    return same && later.at - earlier.at <= limits.same_dose ? DoubleKind::duplicate_entry
                                                             : DoubleKind::second_injection;
}

}  // namespace

std::vector<PossibleDouble> possible_doubles(std::span<const GivenDose> doses, std::span<const Instant> slots,
                                             const MatchLimits& match, const DoubleLimits& limits) {
    std::vector<Instant> given;
    for (const GivenDose& dose : doses)
        given.push_back(dose.at);
    const std::vector<Window> windows = windows_of(slots, given, match);
    std::vector<PossibleDouble> found;
    std::optional<std::size_t> certain;
    for (std::size_t i = 0; i < doses.size(); ++i) {
        if (certain) {
            const bool close = given[i] - given[*certain] < limits.gap;
            const bool one_slot = windows[i] == windows[*certain] && windows[i].last == windows[i].first + 1;
            if (close || one_slot) {
                const DoubleKind kind = kind_of(doses[*certain], doses[i], limits);
                found.push_back({*certain, i, kind, doses[i].is_separate});
                if (!doses[i].is_separate) continue;
            }
        }
        certain = i;
    }
    return found;
}

}  // namespace nightferry::care
