#include "daemon/care/since_dose.hpp"

#include <algorithm>

namespace nightferry::care {

namespace {

using std::chrono::microseconds;

constexpr std::chrono::hours unsettled_back{24};

class Doses {
 public:
    Doses(std::span<const GivenDose> doses, std::span<const PossibleDouble> doubles)
        : doses_(doses), doubles_(doubles) {}

    // The number of doses at or before the instant.
    std::size_t count_until(Instant at) const {
        return static_cast<std::size_t>(std::ranges::upper_bound(doses_, at, {}, &GivenDose::at) -
                                        doses_.begin());
    }

    bool is_provisional(std::size_t dose) const {
        const auto found = std::ranges::lower_bound(doubles_, dose, {}, &PossibleDouble::later);
        return found != doubles_.end() && found->later == dose && !found->decided;
    }

    std::vector<EntryId> undecided(Instant from, std::size_t end) const {
        std::vector<EntryId> ids;
        for (std::size_t i = end; i > 0 && doses_[i - 1].at >= from; --i) {
            if (is_provisional(i - 1)) ids.push_back(doses_[i - 1].id);
        }
        std::ranges::reverse(ids);
        return ids;
    }

 private:
    std::span<const GivenDose> doses_;
    std::span<const PossibleDouble> doubles_;
};

std::vector<Instant> slots_without_record(const Timeline& timeline, Instant from, Instant to) {
    const auto due_of = [](const SlotRecord& record) { return record.slot.due.at; };
    std::vector<Instant> dues;
    for (auto record = std::ranges::lower_bound(timeline.slots, from, {}, due_of);
         record != timeline.slots.end() && due_of(*record) < to; ++record) {
        if (record->fate == SlotFate::no_record || record->fate == SlotFate::due)
            dues.push_back(due_of(*record));
    }
    return dues;
}

microseconds beyond(microseconds elapsed, const SampleWindow& window) {
    if (elapsed < window.from) return elapsed - window.from;
    return elapsed > window.to ? elapsed - window.to : microseconds{0};
}

}  // namespace

SinceDose since_dose(std::span<const GivenDose> doses, std::span<const PossibleDouble> doubles,
                     const Timeline& timeline, Instant at, const std::optional<SampleWindow>& window) {
    const Doses known(doses, doubles);
    const std::size_t count = known.count_until(at);
    SinceDose since;
    since.undecided = known.undecided(at - unsettled_back, count);
    since.without_record = slots_without_record(timeline, at - unsettled_back, at);
    if (count == 0) return since;
    const GivenDose& last = doses[count - 1];
    since.dose = last.id;
    since.given = last.at;
    since.elapsed = at - last.at;
    since.is_provisional = known.is_provisional(count - 1);
    std::size_t certain = count;
    while (certain > 0 && known.is_provisional(certain - 1))
        --certain;
    if (since.is_provisional && certain > 0) {
        since.certain_dose = doses[certain - 1].id;
        since.certain_elapsed = at - doses[certain - 1].at;
    }
    if (window) {
        since.outside_by = beyond(*since.elapsed, *window);
        since.in_window = since.outside_by == microseconds{0};
        if (since.certain_elapsed)
            since.certain_in_window = beyond(*since.certain_elapsed, *window) == microseconds{0};
    }
    return since;
}

}  // namespace nightferry::care
