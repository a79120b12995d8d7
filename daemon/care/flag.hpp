// Something for a person to look at: its level, the numbers behind it, the entries it is about. A flag states
// facts and refers to the clinic; it never says what to do with a dose.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/core/ids.hpp"
#include "daemon/core/time.hpp"

namespace nightferry::care {

enum class Level {
    note,     // For the next report.
    contact,  // The clinic asked to be told the same day.
    urgent,   // The clinic's text for emergencies.
};

enum class FlagKind {
    // Something that was seen.
    head_injury,
    long_bleeding,
    nosebleed,
    gum_bleeding,
    blood_in_urine,
    dark_stool,
    damaged_skin,
    infection_signs,
    skin_reaction,
    growing_lesion,
    large_lesion,
    other_finding,
    // Doses.
    possible_double,
    extra_dose,
    given_while_held,
    missed_dose,
    no_record,
    amount_far_from_order,
    amount_differs,
    other_medicine,
    early_dose,
    late_dose,
    // Sites, vials, records.
    site,
    vial_past_use,
    vial_unclear,
    late_entry,
    weight_change,
    unreadable_dose,
    // What the clinic's server lists as ordered.
    order_differs,
    order_missing,
    order_not_in_regimen,
    order_unclear,
    // What a clinic's server says of the person's record there.
    patient_record,
};

// How a kind is called in settings and answers, and its level where the clinic sets none.
struct FlagDefault {
    FlagKind kind;
    std::string_view word;
    Level level;
};

const std::vector<FlagDefault>& flag_defaults();
std::string_view word_for(FlagKind kind);
std::string_view word_for(Level level);
std::optional<FlagKind> flag_kind(std::string_view word);
std::optional<Level> flag_level(std::string_view word);

struct Flag {
    // Stays the same for the same facts: the kind, and the entries, slot or lesion it is about.
    std::string key;
    FlagKind kind = FlagKind::other_finding;
    Level level = Level::note;
    Instant about;                 // When what it is about happened, or was due.
    std::string reason;            // The facts and numbers, for people.
    std::vector<EntryId> entries;  // Those concerned; empty for a slot without a record.
};

// What the clinic wants said at each level. The default texts defer to it and to the emergency services.
std::string_view default_text(Level level);

}  // namespace nightferry::care
