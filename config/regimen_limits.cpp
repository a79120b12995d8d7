#include <vector>

#include "config/measures.hpp"
#include "config/regimen_section.hpp"
#include "daemon/core/words.hpp"
#include "daemon/entry/vocabulary.hpp"

namespace nightferry::config {

namespace {

using care::Plan;

constexpr std::int64_t day_minutes = 24 * 60;

Measure minutes(std::string_view key, std::chrono::minutes& into, std::int64_t least = 0,
                std::int64_t most = day_minutes) {
    return {key, "min", Decimal(least, 0), Decimal(most, 0), true, [&into](const Decimal& value) {
                into = std::chrono::minutes{value.trimmed().coefficient()};
            }};
}

Measure hours(std::string_view key, std::chrono::hours& into) {
    return {key,
            "h",
            Decimal(1, 0),
            Decimal(1000, 0),
            true,
            [&into](const Decimal& value) {
                into = std::chrono::hours{value.trimmed().coefficient()}; }};
}

Measure days(std::string_view key, std::chrono::days& into) {
    return {key,
            "days",
            Decimal(0, 0),
            Decimal(365, 0),
            true,
            [&into](const Decimal& value) {
                into = std::chrono::days{value.trimmed().coefficient()}; }};
}

Measure number(std::string_view key, std::string_view unit, Decimal& into, Decimal least, Decimal most) {
    return {key, unit, least, most, false, [&into](const Decimal& value) { into = value; }};
}

std::vector<Measure> limits_of(Plan& plan) {
    const Decimal none;
    return {
        minutes("early_max", plan.timeline.match.early_max),
        minutes("late_max", plan.timeline.match.late_max),
        minutes("on_time", plan.timeline.timing.on_time),
        minutes("late", plan.timeline.timing.late),
        minutes("double_gap", plan.timeline.doubles.gap),
        minutes("same_dose", plan.timeline.doubles.same_dose),
        minutes("near", plan.adherence.near),
        minutes("wide", plan.adherence.wide),
        minutes("gap_min", plan.adherence.gap_min, 1, 7 * day_minutes),
        minutes("gap_max", plan.adherence.gap_max, 1, 7 * day_minutes),
        number("match", "mL", plan.order.match_ml, none, Decimal(1, 1)),
        number("large_factor", "", plan.order.large_factor, Decimal(11, 1), Decimal(100, 0)),
        number("tenfold_from", "", plan.order.tenfold_from, Decimal(11, 1), Decimal(100, 0)),
        number("tenfold_to", "", plan.order.tenfold_to, Decimal(11, 1), Decimal(100, 0)),
        minutes("bleeding", plan.flags.bleeding),
        minutes("nosebleed", plan.flags.nosebleed),
        minutes("gum_bleeding", plan.flags.gum_bleeding),
        hours("repeated", plan.flags.repeated),
        hours("entry_lag", plan.flags.entry_lag),
        number("weight_change", "%", plan.flags.weight_percent, Decimal(1, 1), Decimal(100, 0)),
        days("notes", plan.flags.note_days),
        number("growth_factor", "", plan.lesions.growth_factor, Decimal(101, 2), Decimal(10, 0)),
        number("growth", "cm2", plan.lesions.growth_cm2, none, Decimal(100, 0)),
        number("shrink_factor", "", plan.lesions.shrink_factor, none, Decimal(99, 2)),
        number("large_length", "cm", plan.lesions.large_length_cm, Decimal(1, 1), Decimal(100, 0)),
        number("large_area", "cm2", plan.lesions.large_area_cm2, Decimal(1, 1), Decimal(1000, 0)),
        hours("injection_lookback", plan.lesions.injection_lookback),
        number("injection_distance", "cm", plan.lesions.injection_distance_cm, none, Decimal(50, 0)),
    };
}

// Limits that only make sense beside each other.
void check_limits(TableReader& table, const Plan& plan) {
    if (plan.timeline.timing.on_time > plan.timeline.timing.late)
        table.problem("late",
                      "is less than on_time; a dose is late from on_time on and very late from late on");
    if (plan.adherence.gap_min > plan.adherence.gap_max) table.problem("gap_max", "is less than gap_min");
    if (plan.adherence.near > plan.adherence.wide) table.problem("wide", "is less than near");
    if (plan.order.tenfold_from > plan.order.tenfold_to)
        table.problem("tenfold_to", "is less than tenfold_from");
}

void read_regions(TableReader& table, care::SiteRules& sites) {
    for (const std::string& word : table.list("regions")) {
        if (const auto region = entry::meaning_of<entry::Region>(word)) {
            sites.regions.push_back(*region);
        } else {
            table.problem("regions", in_quotes(word) + " is no region; expected " +
                                         any_of(entry::choices<entry::Region>()));
        }
    }
}

// "abdomen left, thigh right"
void read_rotation(TableReader& table, care::SiteRules& sites) {
    for (const std::string& words : table.list("rotation")) {
        const auto blank = std::min(words.find(' '), words.size());
        const auto region = entry::meaning_of<entry::Region>(std::string_view(words).substr(0, blank));
        const auto side = entry::meaning_of<entry::Side>(trimmed(std::string_view(words).substr(blank)));
        if (region && side) {
            sites.rotation.push_back({*region, *side});
        } else {
            table.problem("rotation", in_quotes(words) + " is no region with a side, like \"abdomen left\"");
        }
    }
}

}  // namespace

void read_limits(TableReader& table, Plan& plan) {
    read_measures(table, limits_of(plan));
    check_limits(table, plan);
    table.report_leftovers();
}

void read_sites(TableReader& table, care::SiteRules& sites) {
    const Decimal none;
    const Decimal most(50, 0);
    const std::vector<Measure> measures{
        number("navel_margin", "cm", sites.navel_margin_cm, none, most),
        number("spacing", "cm", sites.spacing_cm, none, most),
        days("spacing_days", sites.spacing_days),
        number("bruise_margin", "cm", sites.bruise_margin_cm, none, most),
        days("lump_rest", sites.lump_rest),
    };
    read_measures(table, measures);
    if (const auto alternate = read_yes_or_no(table, "alternate_sides")) sites.alternate_sides = *alternate;
    read_regions(table, sites);
    read_rotation(table, sites);
    table.report_leftovers();
}

void read_flags(TableReader& table, care::FlagRules& flags) {
    std::vector<std::string_view> known;
    for (const care::FlagDefault& one : care::flag_defaults())
        known.push_back(one.word);
    for (const auto& [key, level] : table.all_texts()) {
        const auto kind = care::flag_kind(key);
        if (!kind) {
            table.problem(key, "is no flag; config/report-format.md lists them." + did_you_mean(key, known));
        } else if (level == "none") {
            flags.levels[*kind] = std::nullopt;
        } else if (const auto found = care::flag_level(level)) {
            flags.levels[*kind] = *found;
        } else {
            table.problem(key, in_quotes(level) + " is no level; expected urgent, contact, note or none");
        }
    }
}

void read_texts(TableReader& table, care::FlagRules& flags) {
    for (const auto level : {care::Level::note, care::Level::contact, care::Level::urgent}) {
        if (const auto text = table.text(care::word_for(level))) flags.texts[level] = *text;
    }
    table.report_leftovers();
}

}  // namespace nightferry::config
