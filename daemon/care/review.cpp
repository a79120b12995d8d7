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

// The doses still to come after an instant, as ordered.
std::vector<ComingDose> coming_after(const Regimen& regimen, const entry::Household& household,
                                     const Timeline& timeline, Instant at) {
    std::vector<ComingDose> coming;
    for (const Slot& slot : slots_between(regimen, at, at + forecast_reach)) {
        const std::string& key = regimen.orders[slot.order].medicine;
        const auto size = size_of(dose_of(regimen, slot).amount, *household.medicine(key));
        const auto known = std::ranges::lower_bound(timeline.slots, slot.due.at, {},
                                                    [](const SlotRecord& one) { return one.slot.due.at; });
        const bool is_settled = known != timeline.slots.end() && known->slot.due.at == slot.due.at &&
                                (known->fate == SlotFate::given || known->fate == SlotFate::held);
        if (size && !slot.held && !is_settled) coming.push_back({slot.due.at, key, size->ml});
    }
    return coming;
}

// What the vials opened in the period hold, in whole days of the order that was in force.
std::vector<Fill> fills_of(const Review& review, const Plan& plan, const entry::Household& household) {
    std::vector<Fill> fills;
    for (const OpenedVial& vial : review.known.vials) {
        if (!vial.volume_ml || !review.period.has(vial.at)) continue;
        const auto slots = slots_between(plan.regimen, vial.at, vial.at + std::chrono::days{1});
        if (slots.empty()) continue;
        const auto& order = plan.regimen.orders[slots.front().order];
        const auto rules = std::ranges::find(plan.vials, vial.medicine, &VialRulesOf::medicine);
        const Decimal loss =
            rules == plan.vials.end() ? VialRules{}.loss_per_draw_ml : rules->rules.loss_per_draw_ml;
        Decimal daily;
        for (const DailyDose& dose : order.doses) {
            const auto size = size_of(dose.amount, *household.medicine(order.medicine));
            const auto draw = size ? add(size->ml, loss) : std::nullopt;
            daily = draw ? add(daily, *draw).value_or(daily) : daily;
        }
        const auto days = order.medicine == vial.medicine ? divide(*vial.volume_ml, daily, 0, Rounding::down)
                                                          : std::nullopt;
        if (days) {
            const auto day = day_of(household.zone, vial.at);
            fills.push_back(
                {std::chrono::sys_days{day.time_since_epoch()}, static_cast<int>(days->coefficient())});
        }
    }
    return fills;
}

Supply supply_in(const Review& review, const Plan& plan, const entry::Household& household) {
    const auto day = [&](Instant at) {
        return std::chrono::sys_days{day_of(household.zone, at).time_since_epoch()};
    };
    return supply_of(fills_of(review, plan, household), day(review.period.from), day(review.period.to));
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
    const Instant begins = regimen.orders.empty()
                               ? period.from
                               : meant_by(regimen.orders.front().zone, regimen.orders.front().from).at;
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
    review.forecast =
        forecast(review.vials, coming_after(regimen, household, review.timeline, end), plan.vials);
    review.supply = supply_in(review, plan, household);
    review.flags = find_flags(review, plan, household);
    return review;
}

SinceDose since_dose_in(const Review& review, const Plan& plan, Instant at) {
    return since_dose(review.known.doses, review.timeline.doubles, review.timeline, at, plan.sample);
}

}  // namespace nightferry::care
