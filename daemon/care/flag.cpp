#include "daemon/care/flag.hpp"

#include <algorithm>
#include <array>

namespace nightferry::care {

namespace {

constexpr std::array levels{
    std::pair{Level::note, std::string_view("note")},
    std::pair{Level::contact, std::string_view("contact")},
    std::pair{Level::urgent, std::string_view("urgent")},
};

}  // namespace

// Which level a leaflet or a trial gives to each is in config/report-format.md; the grouping is ours, and
// every level is the clinic's to set.
const std::vector<FlagDefault>& flag_defaults() {
    static const std::vector<FlagDefault> defaults{
        {FlagKind::head_injury, "head_injury", Level::urgent},
        {FlagKind::long_bleeding, "long_bleeding", Level::urgent},
        {FlagKind::nosebleed, "nosebleed", Level::contact},
        {FlagKind::gum_bleeding, "gum_bleeding", Level::contact},
        {FlagKind::blood_in_urine, "blood_in_urine", Level::contact},
        {FlagKind::dark_stool, "dark_stool", Level::contact},
        {FlagKind::damaged_skin, "damaged_skin", Level::contact},
        {FlagKind::infection_signs, "infection_signs", Level::contact},
        {FlagKind::skin_reaction, "skin_reaction", Level::contact},
        {FlagKind::growing_lesion, "growing_lesion", Level::contact},
        {FlagKind::large_lesion, "large_lesion", Level::contact},
        {FlagKind::other_finding, "other_finding", Level::note},
        {FlagKind::possible_double, "possible_double", Level::contact},
        {FlagKind::extra_dose, "extra_dose", Level::contact},
        {FlagKind::given_while_held, "given_while_held", Level::contact},
        {FlagKind::missed_dose, "missed_dose", Level::contact},
        {FlagKind::no_record, "no_record", Level::contact},
        {FlagKind::amount_far_from_order, "amount_far_from_order", Level::contact},
        {FlagKind::amount_differs, "amount_differs", Level::note},
        {FlagKind::other_medicine, "other_medicine", Level::contact},
        {FlagKind::early_dose, "early_dose", Level::note},
        {FlagKind::late_dose, "late_dose", Level::note},
        {FlagKind::site, "site", Level::note},
        {FlagKind::vial_past_use, "vial_past_use", Level::contact},
        {FlagKind::vial_unclear, "vial_unclear", Level::note},
        {FlagKind::late_entry, "late_entry", Level::note},
        {FlagKind::weight_change, "weight_change", Level::note},
        {FlagKind::unreadable_dose, "unreadable_dose", Level::contact},
        {FlagKind::order_differs, "order_differs", Level::contact},
        {FlagKind::order_missing, "order_missing", Level::contact},
        {FlagKind::order_not_in_regimen, "order_not_in_regimen", Level::contact},
        {FlagKind::order_unclear, "order_unclear", Level::note},
        {FlagKind::patient_record, "patient_record", Level::contact},
    };
    return defaults;
}

std::string_view word_for(FlagKind kind) {
    return std::ranges::find(flag_defaults(), kind, &FlagDefault::kind)->word;
}

std::string_view word_for(Level level) {
    return std::ranges::find(levels, level, [](const auto& one) { return one.first; })->second;
}

std::optional<FlagKind> flag_kind(std::string_view word) {
    const auto found = std::ranges::find(flag_defaults(), word, &FlagDefault::word);
    return found == flag_defaults().end() ? std::nullopt : std::optional(found->kind);
}

std::optional<Level> flag_level(std::string_view word) {
    const auto found = std::ranges::find(levels, word, [](const auto& one) { return one.second; });
    return found == levels.end() ? std::nullopt : std::optional(found->first);
}

std::string_view default_text(Level level) {
    switch (level) {
        case Level::note:
            return "For looking back, alone or with your clinic.";
        case Level::contact:
            return "Your clinic may want to hear about this the same day. Please ring it; it decides what "
                   "follows.";
        case Level::urgent:
            return "This may need help at once. Call your local emergency number, then your clinic.";
    }
    return {};
}

}  // namespace nightferry::care
