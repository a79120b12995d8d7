#include "config/regimen_section.hpp"

#include <algorithm>
#include <array>

#include "config/measures.hpp"
#include "config/sections.hpp"
#include "daemon/care/amounts.hpp"
#include "daemon/core/words.hpp"
#include "daemon/entry/vocabulary.hpp"

namespace nightferry::config {

namespace {

using care::Plan;

std::optional<LocalSecond> read_local(TableReader& table, std::string_view key, std::string_view expected) {
    const std::string text = table.need_text(key, expected);
    if (text.empty()) return std::nullopt;
    const auto written = parse_time(text);
    if (!written || written->offset) {
        table.problem(key, in_quotes(text) + " is not a local time like \"2026-10-12T08:00\"");
        return std::nullopt;
    }
    return written->local;
}

// A local time of the home, or one with its offset.
std::optional<Instant> read_instant(TableReader& table, std::string_view key, const std::string& text,
                                    const Zone& home) {
    const auto written = parse_time(text);
    if (!written) {
        table.problem(key, in_quotes(text) + " is not a time like \"2026-10-12T08:00\"");
        return std::nullopt;
    }
    if (written->offset) return Instant{written->local.time_since_epoch() - *written->offset};
    return care::meant_by(home, written->local).at;
}

std::optional<Instant> need_instant(TableReader& table, std::string_view key, std::string_view expected,
                                    const Zone& home) {
    const std::string text = table.need_text(key, expected);
    return text.empty() ? std::nullopt : read_instant(table, key, text, home);
}

// "08:00 0.18 mL"
std::optional<care::DailyDose> read_dose(std::string_view text, const entry::Medicine& medicine) {
    const auto first = text.find(' ');
    const auto last = text.rfind(' ');
    if (first == std::string_view::npos || first == last) return std::nullopt;
    const auto clock = parse_clock(text.substr(0, first));
    const auto value = Decimal::parse(trimmed(text.substr(first, last - first)));
    const auto unit = entry::meaning_of<entry::Unit>(text.substr(last + 1));
    const bool whole_minute = clock && *clock % std::chrono::minutes{1} == std::chrono::seconds{0};
    if (!whole_minute || !value || *value <= Decimal() || !unit) return std::nullopt;
    const entry::Amount amount{*value, *unit};
    if (!care::size_of(amount, medicine)) return std::nullopt;
    return care::DailyDose{std::chrono::floor<std::chrono::minutes>(*clock), amount};
}

void read_doses(TableReader& table, const entry::Medicine& medicine, care::Order& order) {
    const std::string text =
        table.need_text("doses", "times and amounts, like \"08:00 0.18 mL, 20:00 0.18 mL\"");
    if (text.empty()) return;
    std::size_t start = 0;
    while (start <= text.size()) {
        const auto comma = std::min(text.find(", ", start), text.size());
        const std::string_view part = std::string_view(text).substr(start, comma - start);
        start = comma + 2;
        if (const auto dose = read_dose(trimmed(part), medicine)) {
            order.doses.push_back(*dose);
            continue;
        }
        table.problem("doses", in_quotes(part) +
                                   " is no time with an amount in mL or in the unit of the medicine's "
                                   "strength, like \"08:00 0.18 mL\"");
    }
    const auto clock = [](const care::DailyDose& dose) { return dose.clock; };
    std::ranges::sort(order.doses, {}, clock);
    if (std::ranges::adjacent_find(order.doses, {}, clock) != order.doses.end())
        table.problem("doses", "names one time of day twice");
}

void read_orders(TableReader& regimen, const entry::Household& household, Plan& plan,
                 std::vector<Problem>& problems) {
    const auto found = regimen.tables("order", 1, "from, medicine and doses");
    for (std::size_t i = 0; i < found.size(); ++i) {
        TableReader table(*found[i], regimen.path_of(numbered("order", i)), problems);
        care::Order order{{}, household.zone, {}, {}};
        const auto from = read_local(table, "from", "the local time from which it holds");
        order.medicine = table.need_text("medicine", "the key of a [[medicine]]");
        if (const auto name = table.text("zone")) {
            const auto zone = Zone::find(*name);
            if (zone) {
                order.zone = *zone;
            } else {
                table.problem("zone", zone.error().detail);
            }
        }
        const entry::Medicine* medicine = household.medicine(order.medicine);
        if (medicine != nullptr) {
            read_doses(table, *medicine, order);
        } else {
            if (!order.medicine.empty())
                table.problem("medicine", "no [[medicine]] has the key " + in_quotes(order.medicine));
            table.text("doses");
        }
        table.report_leftovers();
        if (!from) continue;
        order.from = *from;
        const bool rises =
            plan.regimen.orders.empty() ||
            care::meant_by(plan.regimen.orders.back().zone, plan.regimen.orders.back().from).at <
                care::meant_by(order.zone, order.from).at;
        if (!rises)
            table.problem("from", "is not after that of the order before it; orders stand in their order");
        plan.regimen.orders.push_back(std::move(order));
    }
}

void read_holds(TableReader& regimen, const Zone& home, Plan& plan, std::vector<Problem>& problems) {
    const auto found = regimen.tables("hold", 0, "from, until, instructed_by, told and reason");
    for (std::size_t i = 0; i < found.size(); ++i) {
        TableReader table(*found[i], regimen.path_of(numbered("hold", i)), problems);
        const auto from = need_instant(table, "from", "the time of the first dose to leave out", home);
        const auto until = need_instant(table, "until", "a time after the last dose to leave out", home);
        const auto told = need_instant(table, "told", "when the clinic said so", home);
        care::Hold hold{{},
                        {},
                        table.need_text("instructed_by", "who at the clinic said so"),
                        {},
                        table.text("reason").value_or("")};
        table.report_leftovers();
        if (!from || !until || !told) continue;
        if (*until <= *from) table.problem("until", "is not after from");
        hold.from = *from;
        hold.until = *until;
        hold.told = *told;
        plan.regimen.holds.push_back(std::move(hold));
    }
}

void read_exclusions(TableReader& regimen, Plan& plan, std::vector<Problem>& problems) {
    const auto found = regimen.tables("exclusion", 0, "region, side and why");
    for (std::size_t i = 0; i < found.size(); ++i) {
        TableReader table(*found[i], regimen.path_of(numbered("exclusion", i)), problems);
        const std::string region = table.need_text("region", "a region of the body");
        const std::string side = table.need_text("side", "left or right, the person's own");
        care::Exclusion exclusion;
        exclusion.why = table.need_text("why", "what is there, like \"scar\"");
        const auto place = [&](std::string_view key, std::optional<Decimal>& into, Decimal least,
                               Decimal most) {
            return Measure{key, "cm", least, most, false, [&into](const Decimal& value) { into = value; }};
        };
        const std::array measures{place("x", exclusion.site.x_cm, Decimal(-60, 0), Decimal(60, 0)),
                                  place("y", exclusion.site.y_cm, Decimal(-60, 0), Decimal(60, 0)),
                                  place("radius", exclusion.radius_cm, Decimal(1, 1), Decimal(60, 0))};
        read_measures(table, measures);
        const bool is_circle = table.has("x") || table.has("y") || table.has("radius");
        if (is_circle && !(table.has("x") && table.has("y") && table.has("radius")))
            table.problem("radius",
                          "x, y and radius belong together; without all three the whole side is meant");
        const auto known_region = entry::meaning_of<entry::Region>(region);
        const auto known_side = entry::meaning_of<entry::Side>(side);
        if (!region.empty() && !known_region)
            table.problem("region", in_quotes(region) + " is no region; expected " +
                                        any_of(entry::choices<entry::Region>()));
        if (!side.empty() && !known_side)
            table.problem("side", in_quotes(side) + " is neither left nor right");
        const bool wrong_side = known_region == entry::Region::abdomen && known_side && exclusion.site.x_cm &&
                                !exclusion.site.x_cm->is_zero() &&
                                (*exclusion.site.x_cm > Decimal()) != (*known_side == entry::Side::left);
        if (wrong_side)
            table.problem("x", "lies on the other side; on the abdomen x counts to the person's left");
        table.report_leftovers();
        exclusion.site.region = known_region.value_or(entry::Region::abdomen);
        exclusion.site.side = known_side.value_or(entry::Side::left);
        plan.sites.exclusions.push_back(std::move(exclusion));
    }
}

void read_catheters(TableReader& regimen, const Zone& home, Plan& plan, std::vector<Problem>& problems) {
    const auto found = regimen.tables("catheter", 0, "from");
    for (std::size_t i = 0; i < found.size(); ++i) {
        TableReader table(*found[i], regimen.path_of(numbered("catheter", i)), problems);
        const auto from = need_instant(table, "from", "when it was put in", home);
        std::optional<Instant> until;
        if (const auto text = table.text("until")) until = read_instant(table, "until", *text, home);
        if (from && until && *until <= *from) table.problem("until", "is not after from");
        table.report_leftovers();
        if (from) plan.sites.catheters.push_back({*from, until});
    }
}

// "240-360 min"
void read_sample_window(TableReader& table, Plan& plan) {
    const auto text = table.text("sample_window");
    if (!text) return;
    const auto dash = text->find('-');
    const auto from = Decimal::parse(trimmed(std::string_view(*text).substr(0, dash)));
    const bool in_minutes = dash != std::string::npos && text->ends_with(" min");
    const auto to =
        in_minutes
            ? Decimal::parse(trimmed(std::string_view(*text).substr(dash + 1, text->size() - dash - 5)))
            : std::nullopt;
    if (!from || !to || from->scale() > 0 || to->scale() > 0 || *from > *to || *to > Decimal(24 * 60, 0)) {
        table.problem("sample_window",
                      in_quotes(*text) + " is not a stretch after the dose like \"240-360 min\"");
        return;
    }
    plan.sample = care::SampleWindow{std::chrono::minutes{from->coefficient()},
                                     std::chrono::minutes{to->coefficient()}};
}

// What only shows when everything is read: an end before the beginning, doses that the syringe does not hold,
// and doses so close together that every one would look like a possible double.
void check_regimen(TableReader& table, const entry::Household& household, const Plan& plan) {
    if (plan.regimen.orders.empty()) return;
    const care::Order& first = plan.regimen.orders.front();
    if (plan.regimen.end && *plan.regimen.end <= care::meant_by(first.zone, first.from).at)
        table.problem("end", "is not after the first order's from, so nothing would ever be scheduled");
    for (const care::Order& order : plan.regimen.orders) {
        const auto syringe = plan.syringes.find(order.medicine);
        for (std::size_t i = 0; i < order.doses.size(); ++i) {
            const care::DailyDose& dose = order.doses[i];
            const auto size = care::size_of(dose.amount, *household.medicine(order.medicine));
            if (size && syringe != plan.syringes.end() && size->ml > syringe->second.scale.capacity_ml) {
                table.problem("order", "the dose of " + dose.amount.value.to_string() + " " +
                                           std::string(entry::word_for(dose.amount.unit)) +
                                           " is more than the syringe of this [[medicine]] holds");
            }
            const auto next = i + 1 < order.doses.size() ? order.doses[i + 1].clock
                                                         : order.doses[0].clock + std::chrono::hours{24};
            if (next > dose.clock && next - dose.clock <= plan.timeline.doubles.gap) {
                table.problem("order",
                              "has doses " + std::to_string((next - dose.clock).count()) +
                                  " min apart; with a double_gap of " +
                                  std::to_string(plan.timeline.doubles.gap.count()) +
                                  " min in [regimen.limits] every one would look like a possible double");
            }
        }
    }
}

Plan read_regimen(TableReader& table, const entry::Household& household, const std::vector<Product>& products,
                  std::vector<Problem>& problems) {
    Plan plan;
    for (const Product& product : products) {
        plan.vials.push_back({product.medicine, product.vial});
        if (product.syringe) plan.syringes.emplace(product.medicine, *product.syringe);
    }
    plan.person = table.need_text("person", "the key of a [[person]]");
    if (!plan.person.empty() && household.person(plan.person) == nullptr)
        table.problem("person", "no [[person]] has the key " + in_quotes(plan.person));
    if (const auto end = table.text("end"))
        plan.regimen.end = read_instant(table, "end", *end, household.zone);
    read_sample_window(table, plan);
    read_orders(table, household, plan, problems);
    read_holds(table, household.zone, plan, problems);
    read_exclusions(table, plan, problems);
    read_catheters(table, household.zone, plan, problems);
    const auto part = [&](std::string_view name, const auto& read) {
        if (const toml::table* found = table.table(name)) {
            TableReader inner(*found, table.path_of(name), problems);
            read(inner);
        }
    };
    part("limits", [&](TableReader& inner) { read_limits(inner, plan); });
    part("sites", [&](TableReader& inner) { read_sites(inner, plan.sites); });
    part("flags", [&](TableReader& inner) { read_flags(inner, plan.flags); });
    part("texts", [&](TableReader& inner) { read_texts(inner, plan.flags); });
    check_regimen(table, household, plan);
    table.report_leftovers();
    return plan;
}

}  // namespace

std::optional<bool> read_yes_or_no(TableReader& table, std::string_view key) {
    const auto text = table.text(key);
    if (!text) return std::nullopt;
    if (*text == "yes" || *text == "no") return *text == "yes";
    table.problem(key, in_quotes(*text) + " is neither yes nor no");
    return std::nullopt;
}

std::vector<Plan> read_regimens(TableReader& root, const entry::Household& household,
                                const std::vector<Product>& products, std::vector<Problem>& problems) {
    std::vector<Plan> plans;
    for (const toml::table* one : root.tables("regimen", 0, "a person and at least one order")) {
        TableReader table(*one, numbered("regimen", plans.size()), problems);
        Plan plan = read_regimen(table, household, products, problems);
        if (std::ranges::find(plans, plan.person, &Plan::person) != plans.end())
            table.problem("person", "has a regimen already; add an [[regimen.order]] to it instead");
        plans.push_back(std::move(plan));
    }
    return plans;
}

}  // namespace nightferry::config
