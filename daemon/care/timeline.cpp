#include "daemon/care/timeline.hpp"

#include <algorithm>
#include <tuple>

namespace nightferry::care {

namespace {

std::vector<SlotRecord> planned(const Regimen& regimen, const entry::Medicine& medicine, Instant from,
                                Instant to) {
    std::vector<SlotRecord> records;
    for (const Slot& slot : slots_between(regimen, from, to)) {
        if (const auto ordered = size_of(dose_of(regimen, slot).amount, medicine))
            records.push_back({slot, *ordered, slot.held ? SlotFate::held : SlotFate::due, std::nullopt});
    }
    return records;
}

// The same order whatever order they arrived in.
void sort_doses(std::vector<GivenDose>& given) {
    std::ranges::sort(given, [](const GivenDose& a, const GivenDose& b) {
        return std::tie(a.at, a.recorded, a.by, a.size.content) <
               std::tie(b.at, b.recorded, b.by, b.size.content);
    });
}

void pair_up(Timeline& timeline, const TimelineLimits& limits) {
    std::vector<Instant> dues;
    std::vector<std::size_t> open;  // Which slot each of them is.
    for (std::size_t i = 0; i < timeline.slots.size(); ++i) {
        if (timeline.slots[i].fate == SlotFate::held) continue;
        dues.push_back(timeline.slots[i].slot.due.at);
        open.push_back(i);
    }
    std::vector<Instant> given;
    for (const DoseRecord& dose : timeline.doses)
        given.push_back(dose.given.at);
    const auto matches = match(dues, given, limits.match);
    for (std::size_t i = 0; i < matches.size(); ++i) {
        if (!matches[i]) continue;
        DoseRecord& dose = timeline.doses[i];
        dose.slot = open[*matches[i]];
        dose.timing = timing_of(timeline.deviation_of(dose), limits.timing);
        timeline.slots[*dose.slot].fate = SlotFate::given;
        timeline.slots[*dose.slot].dose = i;
    }
}

// Whether a held slot lies so near that the dose would have been its own.
bool belongs_to_held(const Timeline& timeline, Instant at, const MatchLimits& limits) {
    const auto first = std::ranges::lower_bound(timeline.slots, at - limits.late_max, {},
                                                [](const SlotRecord& record) { return record.slot.due.at; });
    return std::any_of(first, timeline.slots.end(), [&](const SlotRecord& record) {
        return record.fate == SlotFate::held && record.slot.due.at <= at + limits.early_max;
    });
}

}  // namespace

Timeline timeline_of(const Regimen& regimen, const entry::Medicine& medicine, Instant from, Instant to,
                     std::vector<GivenDose> given, const std::vector<Instant>& missed, Instant now,
                     const TimelineLimits& limits) {
    Timeline timeline{planned(regimen, medicine, from, to), {}};
    sort_doses(given);
    for (GivenDose& dose : given)
        timeline.doses.push_back({std::move(dose), std::nullopt, Timing::on_time, false});
    pair_up(timeline, limits);
    for (DoseRecord& dose : timeline.doses) {
        if (!dose.slot) dose.while_held = belongs_to_held(timeline, dose.given.at, limits.match);
    }
    for (SlotRecord& record : timeline.slots) {
        if (record.fate != SlotFate::due) continue;
        const Instant due = record.slot.due.at;
        if (std::ranges::find(missed, due) != missed.end()) {
            record.fate = SlotFate::missed;
        } else if (now > due + limits.match.late_max) {
            record.fate = SlotFate::no_record;
        }
    }
    return timeline;
}

}  // namespace nightferry::care
