#include "daemon/care/timeline.hpp"

#include <algorithm>

namespace nightferry::care {

namespace {

// Who said to hold a slot; nobody for one that is not held.
std::string said_by(const Regimen& regimen, const Slot& slot) {
    const auto hold = std::ranges::find_if(
        regimen.holds, [&](const Hold& one) { return one.from <= slot.due.at && slot.due.at < one.until; });
    return hold == regimen.holds.end() ? std::string() : hold->instructed_by;
}

std::vector<SlotRecord> planned(const Regimen& regimen, const entry::Household& household, Instant from,
                                Instant to) {
    std::vector<SlotRecord> records;
    for (const Slot& slot : slots_between(regimen, from, to)) {
        const std::string& key = regimen.orders[slot.order].medicine;
        const entry::Medicine* medicine = household.medicine(key);
        if (medicine == nullptr) continue;
        if (const auto ordered = size_of(dose_of(regimen, slot).amount, *medicine))
            records.push_back({slot,
                               key,
                               *ordered,
                               slot.held ? SlotFate::held : SlotFate::due,
                               {},
                               {},
                               {},
                               said_by(regimen, slot)});
    }
    return records;
}

// Builds a timeline in the order in which one thing decides the next: what was held, which doses count, which
// slots they fill, what was missed of the rest.
class Builder {
 public:
    Builder(Timeline& timeline, const Known& known, const TimelineLimits& limits)
        : timeline_(timeline), known_(known), limits_(limits) {}

    void build(Instant now) {
        declare(SlotFate::held);
        const Open open = open_slots();
        timeline_.doubles = possible_doubles(known_.doses, open.dues, limits_.match, limits_.doubles);
        take_doses();
        pair_up(open);
        for (DoseRecord& dose : timeline_.doses) {
            if (!dose.slot) dose.while_held = belongs_to_held(dose.given.at);
        }
        declare(SlotFate::missed);
        leave_undecided();
        for (SlotRecord& record : timeline_.slots) {
            if (record.fate == SlotFate::due && now > record.slot.due.at + limits_.match.late_max)
                record.fate = SlotFate::no_record;
        }
    }

 private:
    // Slots that nothing is known of yet.
    struct Open {
        std::vector<Instant> dues;
        std::vector<std::size_t> index;  // Into Timeline::slots.
    };

    Open open_slots() const {
        Open open;
        for (std::size_t i = 0; i < timeline_.slots.size(); ++i) {
            if (timeline_.slots[i].fate != SlotFate::due) continue;
            open.dues.push_back(timeline_.slots[i].slot.due.at);
            open.index.push_back(i);
        }
        return open;
    }

    // The slot next to a time and within the limits of it; of two as near the earlier.
    SlotRecord* slot_near(Instant time) const {
        const auto due = [](const SlotRecord& record) { return record.slot.due.at; };
        auto next = std::ranges::lower_bound(timeline_.slots, time, {}, due);
        if (next != timeline_.slots.begin() &&
            (next == timeline_.slots.end() || time - due(*std::prev(next)) <= due(*next) - time))
            --next;
        if (next == timeline_.slots.end()) return nullptr;
        const auto after = time - due(*next);
        return after >= -limits_.match.early_max && after <= limits_.match.late_max ? &*next : nullptr;
    }

    // What people declared of slots of which nothing else is known.
    void declare(SlotFate fate) {
        for (const NotGiven& one : known_.not_given) {
            const bool is_hold = one.why == entry::WhyNotGiven::clinic_hold;
            SlotRecord* record = is_hold == (fate == SlotFate::held) ? slot_near(one.due) : nullptr;
            if (record == nullptr || record->fate != SlotFate::due) continue;
            record->fate = fate;
            record->declared = one.id;
            record->why = one.why;
            record->instructed_by = one.instructed_by;
        }
    }

    // A dose that may be a second injection may be the one that fills a slot: nothing can be said of that
    // until somebody decides. One that looks written down twice belongs to the slot of its twin.
    void leave_undecided() {
        const Open open = open_slots();
        std::vector<Instant> waiting;
        for (const PossibleDouble& one : timeline_.doubles) {
            if (!one.decided && one.kind == DoubleKind::second_injection)
                waiting.push_back(known_.doses[one.later].at);
        }
        for (const auto& slot : match(open.dues, waiting, limits_.match)) {
            if (slot) timeline_.slots[open.index[*slot]].fate = SlotFate::undecided;
        }
    }

    void take_doses() {
        std::vector<bool> waits(known_.doses.size(), false);
        for (const PossibleDouble& one : timeline_.doubles)
            waits[one.later] = !one.decided;
        for (std::size_t i = 0; i < waits.size(); ++i) {
            if (waits[i]) {
                timeline_.provisional.push_back(known_.doses[i]);
            } else {
                timeline_.doses.push_back({known_.doses[i], std::nullopt, Timing::on_time, false});
            }
        }
    }

    void pair_up(const Open& open) {
        std::vector<Instant> given;
        for (const DoseRecord& dose : timeline_.doses)
            given.push_back(dose.given.at);
        const auto matches = match(open.dues, given, limits_.match);
        for (std::size_t i = 0; i < matches.size(); ++i) {
            if (!matches[i]) continue;
            DoseRecord& dose = timeline_.doses[i];
            dose.slot = open.index[*matches[i]];
            dose.timing = timing_of(timeline_.deviation_of(dose), limits_.timing);
            timeline_.slots[*dose.slot].fate = SlotFate::given;
            timeline_.slots[*dose.slot].dose = i;
        }
    }

    // Whether a held slot lies so near that the dose would have been its own.
    bool belongs_to_held(Instant at) const {
        const auto first =
            std::ranges::lower_bound(timeline_.slots, at - limits_.match.late_max, {},
                                     [](const SlotRecord& record) { return record.slot.due.at; });
        const auto last = std::find_if(first, timeline_.slots.end(), [&](const SlotRecord& record) {
            return record.slot.due.at > at + limits_.match.early_max;
        });
        return std::any_of(first, last,
                           [](const SlotRecord& record) { return record.fate == SlotFate::held; });
    }

    Timeline& timeline_;
    const Known& known_;
    const TimelineLimits& limits_;
};

}  // namespace

Timeline timeline_of(const Regimen& regimen, const entry::Household& household, Instant from, Instant to,
                     const Known& known, Instant now, const TimelineLimits& limits) {
    Timeline timeline{planned(regimen, household, from, to), {}, {}, {}};
    Builder(timeline, known, limits).build(now);
    return timeline;
}

}  // namespace nightferry::care
