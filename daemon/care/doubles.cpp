#include "daemon/care/doubles.hpp"

#include <algorithm>

namespace nightferry::care {

namespace {

// The slots a dose may belong to: first to last, the last not included.
struct Reach {
    std::size_t first = 0;
    std::size_t last = 0;
    bool is_one() const { return last == first + 1; }
    bool operator==(const Reach&) const = default;
};

// Finds the reach of one dose after the other; both lists rise, so it walks over the slots once.
class Reaches {
 public:
    Reaches(std::span<const Instant> slots, const MatchLimits& limits) : slots_(slots), limits_(limits) {}

    Reach of(Instant at) {
        while (reach_.first < slots_.size() && slots_[reach_.first] < at - limits_.late_max)
            ++reach_.first;
        reach_.last = std::max(reach_.last, reach_.first);
        while (reach_.last < slots_.size() && slots_[reach_.last] <= at + limits_.early_max)
            ++reach_.last;
        return reach_;
    }

 private:
    std::span<const Instant> slots_;
    const MatchLimits& limits_;
    Reach reach_;
};

DoubleKind kind_of(const GivenDose& earlier, const GivenDose& later, const DoubleLimits& limits) {
    const bool same = earlier.medicine == later.medicine && earlier.size.content == later.size.content;
    return same && later.at - earlier.at <= limits.same_dose ? DoubleKind::duplicate_entry
                                                             : DoubleKind::second_injection;
}

}  // namespace

std::vector<PossibleDouble> possible_doubles(std::span<const GivenDose> doses, std::span<const Instant> slots,
                                             const MatchLimits& match, const DoubleLimits& limits) {
    std::vector<PossibleDouble> found;
    Reaches reaches(slots, match);
    std::optional<std::size_t> certain;
    Reach certain_reach;
    for (std::size_t i = 0; i < doses.size(); ++i) {
        const Reach reach = reaches.of(doses[i].at);
        if (certain) {
            const GivenDose& before = doses[*certain];
            const bool close = doses[i].at - before.at < limits.gap;
            const bool one_slot = reach.is_one() && reach == certain_reach;
            if (close || one_slot) {
                found.push_back({*certain, i, kind_of(before, doses[i], limits), doses[i].is_separate});
                if (!doses[i].is_separate) continue;
            }
        }
        certain = i;
        certain_reach = reach;
    }
    return found;
}

}  // namespace nightferry::care
