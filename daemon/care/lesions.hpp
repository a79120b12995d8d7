// Bruises, lumps and whatever else is seen at sites, followed from the first look to the last. Sizes that
// nobody measured are never given numbers, and the absence of a look says nothing.
#pragma once

#include <chrono>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "daemon/care/known.hpp"

namespace nightferry::care {

// The clinic's to configure. The limits of growth have no published source; 25 cm² is a line that trials of
// anticoagulants draw for a haematoma under the skin that is worth reporting.
struct LesionLimits {
    Decimal growth_factor{125, 2};
    Decimal growth_cm2{1, 0};
    Decimal shrink_factor{8, 1};
    Decimal large_length_cm{5, 0};
    Decimal large_area_cm2{25, 0};
    std::chrono::hours injection_lookback{72};  // In which an injection nearby may be where it came from.
    Decimal injection_distance_cm{1, 0};        // Beyond half of the lesion's length.

    bool operator==(const LesionLimits&) const = default;
};

enum class Trend {
    first,         // The first measurement of the series.
    growing,       // At least growth_factor times the one before, and at least growth_cm2 more.
    shrinking,     // At most shrink_factor times the one before.
    steady,        // Neither.
    resolved,      // Gone: length 0, or looked for and not there.
    not_measured,  // No area here.
};

struct Assessment {
    EntryId look;
    Instant at;
    std::optional<Decimal> length_cm;
    std::optional<Decimal> width_cm;
    // Of the ellipse, pi/4 times length times width, three decimals, half up; 0 when it has gone, else none
    // without both measures.
    std::optional<Decimal> area_cm2;
    std::optional<Decimal>
        ratio;  // To the area last measured before, unless that is 0; two decimals, half up.
    Trend trend = Trend::not_measured;
    bool persistent_growth = false;  // Growing at this look and at the last measured one before.
    bool is_large = false;           // By length or area.
};

struct Lesion {
    std::string label;                                    // The family's, or empty.
    entry::FindingKind what = entry::FindingKind::other;  // At the first look.
    std::optional<entry::Site> site;                      // The newest that has coordinates, else the newest.
    Instant first_seen;                                   // Of the first look.
    std::optional<Instant> resolved;  // As first_seen when it was only looked for and never found.
    std::optional<EntryId> dose;      // The injection that it came from, as far as told or found,
    bool dose_is_stated = false;      // by what a carer wrote; otherwise it is the nearest in time and place.
    std::optional<Instant> dose_at;   // None when no such dose is known (any more).
    std::vector<Assessment> assessments;
};

// Whether it is followed as a lesion: what lies at a place where somebody injects, and `other` when it has a
// site or a label.
bool is_followed(const entry::Finding& finding);

// pi/4 times length times width, exact to three decimals, half up; nothing when it has too many digits
// or a length is below zero.
std::optional<Decimal> ellipse_area(const Decimal& length_cm, const Decimal& width_cm);

// Every finding that lies at a place where somebody injects (entry::place_of; `other` when it has a site or a
// label), in series, in the order of their first looks. Looks belong together by their label and kind; those
// without a label by their kind and the dose they name; others stand alone, until a look without a label
// finds nothing of their kind in their zone any more. A bruise and a haematoma are of one kind here, as are a
// lump and a hardening; what else bears the label of a bruise, pain or dead skin, is followed apart: it says
// nothing of the bruise's size, and when it goes the bruise may still be there. A look that finds it again
// after it was gone begins a new series. `looks` and `doses` rise.
//
// Compared are unrounded areas, and the place and the length of the series: its `site`, and the first length
// anybody measured. The injection is the one that a look names first; else, unless it was gone from the
// start, of the injections on the same grid at most `injection_lookback` before the first look, both with
// coordinates and closer than half that length plus `injection_distance_cm`, the nearest, and of equally near
// ones the latest; else none.
std::vector<Lesion> follow_lesions(std::span<const Look> looks, std::span<const GivenDose> doses,
                                   const LesionLimits& limits);

}  // namespace nightferry::care
