// Vials: what was drawn from each, what is left, how long it may be used, and which scheduled dose it covers
// last. Volumes add up: what was in it is what was drawn, what is left and what each draw loses.
#pragma once

#include <chrono>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/care/known.hpp"
#include "daemon/core/decimal.hpp"
#include "daemon/core/time.hpp"
#include "daemon/core/zone.hpp"

namespace nightferry::care {

enum class DayCount {
    from_opening,       // Opened on the 12th with 28 days: until the same time of day 28 calendar days later.
    opening_is_day_one  // Until the end of the 28th day, the day of opening being the first.
};

// Of one medicine as the pharmacy hands it out; the clinic's to configure. 28 days are the general rule for
// an opened multi-dose vial (USP <797>) unless the maker says otherwise.
struct VialRules {
    int in_use_days = 28;
    DayCount counting = DayCount::from_opening;
    Decimal loss_per_draw_ml{1, 2};  // Common practice, no source.

    bool operator==(const VialRules&) const = default;
};

enum class VialConcern {
    unknown,         // The dose names a vial that nobody recorded as opened before it.
    not_named,       // The dose names no vial, though a vial of this medicine was opened by then.
    other_medicine,  // The vial holds another medicine or strength than the dose says.
    after_in_use,    // Drawn after the days that an opened vial may be used.
    after_expiry,    // Drawn after the printed date.
    overdrawn,       // With this draw and its loss, more was taken than was in it.
};

struct VialNote {
    VialConcern concern = VialConcern::unknown;
    EntryId dose;
    std::string label;
    std::optional<Instant> limit;  // The end of use that was passed.
};

struct VialState {
    EntryId opened_by;  // The entry.
    std::string label;
    std::string medicine;
    Instant opened;
    std::optional<std::string> lot;
    std::optional<Decimal> volume_ml;
    std::int64_t draws = 0;
    std::int64_t draws_after_end = 0;
    Decimal injected_ml;
    Decimal lost_ml;                 // loss_per_draw_ml for each draw.
    std::optional<Decimal> left_ml;  // None when the volume is not known; below zero when overdrawn.
    // In the unit of the medicine's strength, and without doses that name another medicine.
    Decimal content_given;
    // The first instant at which it may not be used any more: the end of its days in use, or the end of the
    // printed day or month if that is earlier. All calendar days are the home's.
    Instant usable_until;
    bool is_expiry = false;  // usable_until comes from the printed date.
    // The day to write on it: the date of usable_until when that comes from counting days from opening, else
    // the last day on which it may be used.
    std::chrono::year_month_day discard_on;
};

struct VialBook {
    std::vector<VialState> vials;  // In the order of opening.
    std::vector<VialNote> notes;   // In the order of the doses.
};

// The end of the days in use of a vial opened at that instant.
Instant end_of_use(Instant opened, const VialRules& rules, const Zone& home);

// The end of "2027-03-31", or of "2027-03": local midnight after it. Nothing when it is neither.
std::optional<Instant> end_of_expiry(std::string_view printed, const Zone& home);

// Which rules a medicine has.
struct VialRulesOf {
    std::string medicine;
    VialRules rules;
};

// The rules of a medicine, or the default ones where it has none of its own.
const VialRules& rules_for(std::string_view medicine, std::span<const VialRulesOf> rules);

// A dose is drawn from the last vial of that label opened at or before it; two vials may have borne one
// label. `vials` and `doses` rise. A medicine that `rules` does not name has the default ones. A dose with
// several concerns has a note for each. A draw that makes a sum too long for a Decimal is noted as overdrawn
// and not counted.
VialBook follow_vials(std::span<const OpenedVial> vials, std::span<const GivenDose> doses,
                      std::span<const VialRulesOf> rules, const Zone& home);

// A scheduled dose to come.
struct ComingDose {
    Instant due;
    std::string medicine;
    Decimal ml;
};

struct Forecast {
    std::int64_t doses_left = 0;  // Coming doses, without a gap, that the opened vials cover.
    std::optional<Instant> last_covered;
    std::optional<Instant> first_uncovered;  // None when all are covered.
    std::optional<Decimal> rest_ml;  // Left in the last vial used after them; none when none was used.
};

// Draws every coming dose, with its loss, from the vials of its medicine that hold enough and may still be
// used then, the first opened first, until one is not covered. Vials of unknown volume are left out. `coming`
// rises.
Forecast forecast(const VialBook& book, std::span<const ComingDose> coming,
                  std::span<const VialRulesOf> rules);

}  // namespace nightferry::care
