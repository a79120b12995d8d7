#include "daemon/care/review.hpp"

#include <algorithm>

#include "daemon/care/calendar.hpp"
#include "daemon/care/find_flags.hpp"

namespace nightferry::care {

namespace {

// As far as a forecast looks: longer than any opened vial may be used.
constexpr std::chrono::days forecast_reach{400};

// The regimen without the holds that nobody had heard of yet.
Regimen as_told(const Regimen& regimen, Instant known_at) {
    Regimen told = regimen;
    std::erase_if(told.holds, [&](const Hold& hold) { return hold.told > known_at; });
    return told;
}

// The first instant at which a slot may lie: that of the first order, or of the record of doses if that
// begins later.
Instant beginning_of(const Regimen& regimen, const Known& known, const MatchLimits& match,
                     Instant otherwise) {
    const auto begins = known.begins();
    if (regimen.orders.empty() || !begins) return otherwise;
    const Order& first = regimen.orders.front();
    return std::max(meant_by(first.zone, first.from).at, *begins - match.late_max);
}

std::vector<GivenDose> counted(const Timeline& timeline) {
    std::vector<GivenDose> doses;
    doses.reserve(timeline.doses.size());
    for (const DoseRecord& dose : timeline.doses)
        doses.push_back(dose.given);
    return doses;
}

std::optional<Adherence> figures_of(const Review& review, const Plan& plan, const entry::Household& household,
                                    const Period& period) {
    return adherence_of(review.timeline, period.from, period.to, household.zone, household, plan.adherence,
                        plan.order);
}

std::vector<Week> weeks_of(const Review& review, const Plan& plan, const entry::Household& household) {
    std::vector<Week> weeks;
    Instant from = review.period.from;
    while (from < review.period.to) {
        const auto monday = monday_of(day_of(household.zone, from)) + std::chrono::days{7};
        const Period week{from, std::min(review.period.to, start_of(household.zone, monday))};
        weeks.push_back({week, figures_of(review, plan, household, week)});
        from = week.to;
    }
    return weeks;
}

DoseFacts facts_of(const DoseRecord& dose, const Timeline& timeline, const Plan& plan,
                   const entry::Household& household) {
    DoseFacts facts;
    const entry::Medicine& medicine = *household.medicine(dose.given.medicine);
    if (dose.slot) {
        const SlotRecord& slot = timeline.slots[*dose.slot];
        facts.check = slot.medicine == dose.given.medicine
                          ? compare_amounts(dose.given.amount, {slot.ordered.content, slot.ordered.unit},
                                            medicine, plan.order)
                          : AmountCheck{};
    }
    if (const auto syringe = plan.syringes.find(dose.given.medicine); syringe != plan.syringes.end())
        facts.syringe = syringe_use(dose.given.size, medicine, syringe->second);
    return facts;
}

// The doses still to come when the review was known, those included whose time has come and that may still be
// given.
std::vector<ComingDose> coming(const Regimen& regimen, const entry::Household& household,
                               const Review& review) {
    std::vector<ComingDose> doses;
    for (const SlotRecord& record : review.timeline.slots) {
        if (record.fate == SlotFate::due && record.slot.due.at <= review.known_at)
            doses.push_back({record.slot.due.at, record.medicine, record.ordered.ml});
    }
    const auto due_of = [](const SlotRecord& record) { return record.slot.due.at; };
    const auto is_settled = [&](Instant due) {
        const auto record = std::ranges::lower_bound(review.timeline.slots, due, {}, due_of);
        return record != review.timeline.slots.end() && due_of(*record) == due &&
               record->fate != SlotFate::due;
    };
    const Instant next = review.known_at + std::chrono::microseconds{1};
    for (const Slot& slot : slots_between(regimen, next, next + forecast_reach)) {
        const std::string& key = regimen.orders[slot.order].medicine;
        const entry::Medicine* medicine = household.medicine(key);
        const auto size =
            medicine == nullptr ? std::nullopt : size_of(dose_of(regimen, slot).amount, *medicine);
        if (size && !slot.held && !is_settled(slot.due.at)) doses.push_back({slot.due.at, key, size->ml});
    }
    return doses;
}

// What the doses of a day take from vials; nothing when it has too many digits.
std::optional<Decimal> need_a_day(const Order& order, const Plan& plan, const entry::Household& household) {
    std::optional<Decimal> need = Decimal();
    for (const DailyDose& dose : order.doses) {
        const auto size = size_of(dose.amount, *household.medicine(order.medicine));
        const auto draw =
            size ? add(size->ml, rules_for(order.medicine, plan.vials).loss_per_draw_ml) : std::nullopt;
        need = need && draw ? add(*need, *draw) : std::nullopt;
    }
    return need;
}

// What the vials opened in the period hold, in whole days of the order that was in force then.
std::vector<Fill> fills_of(const Review& review, const Plan& plan, const entry::Household& household) {
    std::vector<Fill> fills;
    for (const OpenedVial& vial : review.known.vials) {
        if (!vial.volume_ml || !review.period.has(vial.at)) continue;
        const auto slots = slots_between(plan.regimen, vial.at, vial.at + std::chrono::days{1});
        if (slots.empty()) continue;
        const Order& order = plan.regimen.orders[slots.front().order];
        const auto need = order.medicine == vial.medicine ? need_a_day(order, plan, household) : std::nullopt;
        const auto days = need ? divide(*vial.volume_ml, *need, 0, Rounding::down) : std::nullopt;
        if (!days) continue;
        const auto day = day_of(household.zone, vial.at).time_since_epoch();
        fills.push_back({std::chrono::sys_days{day}, static_cast<int>(days->coefficient())});
    }
    return fills;
}

// Over those days of the period on which something could be ordered and known.
Supply supply_in(const Review& review, const Plan& plan, const entry::Household& household) {
    if (review.timeline.slots.empty()) return {};
    const auto day = [&](Instant at) {
        return std::chrono::sys_days{day_of(household.zone, at).time_since_epoch()};
    };
    const Instant end = std::min(plan.regimen.end.value_or(review.period.to), review.period.to);
    const auto after_today = day(review.known_at) + std::chrono::days{1};
    return supply_of(fills_of(review, plan, household),
                     std::max(day(review.period.from), day(review.timeline.slots.front().slot.due.at)),
                     std::min(day(end), after_today));
}

}  // namespace

Review review_of(const Plan& plan, const entry::Household& household, std::span<const Revisions> entries,
                 const Period& period, Instant known_at) {
    return review_of_known(plan, household, care::known_at(entries, household, known_at), period, known_at);
}

Review review_of_known(const Plan& plan, const entry::Household& household, Known known, const Period& period,
                       Instant known_at) {
    const Regimen regimen = as_told(plan.regimen, known_at);
    Review review;
    review.person = plan.person;
    review.period = period;
    review.known_at = known_at;
    review.known = std::move(known);
    const Instant begins = beginning_of(regimen, review.known, plan.timeline.match, period.to);
    const Instant last =
        std::max(period.to, known_at + plan.timeline.match.early_max + std::chrono::microseconds{1});
    review.timeline = timeline_of(regimen, household, begins, last, review.known, known_at, plan.timeline);
    review.figures = figures_of(review, plan, household, period);
    review.weeks = weeks_of(review, plan, household);
    for (const DoseRecord& dose : review.timeline.doses)
        review.doses.push_back(facts_of(dose, review.timeline, plan, household));
    const std::vector<GivenDose> doses = counted(review.timeline);
    const Instant end = std::min(period.to, known_at);
    review.sites = check_sites(doses, review.known.looks, plan.sites, household.zone);
    review.zones = zone_use(doses, review.known.looks, plan.sites, household.zone, end);
    review.rotation = rotation_after(doses, plan.sites, end);
    review.lesions = follow_lesions(review.known.looks, doses, plan.lesions);
    review.vials = follow_vials(review.known.vials, doses, plan.vials, household.zone);
    review.forecast = forecast(review.vials, coming(regimen, household, review), plan.vials);
    review.supply = supply_in(review, plan, household);
    for (const OrdersRead& read : review.known.orders)
        review.orders.push_back(compare_orders(read, regimen, household, plan.order, known_at));
    review.flags = find_flags(review, plan, household);
    return review;
}

SinceDose since_dose_in(const Review& review, const Plan& plan, Instant at) {
    SinceDose since =
        since_dose(review.known.doses, review.timeline.doubles, review.timeline, at, plan.sample);
    since.unreadable = review.known.unreadable;
    return since;
}

}  // namespace nightferry::care
