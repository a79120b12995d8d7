// What an amount of a medicine is: its volume and what it contains. The strength of the medicine ties the
// two; nothing here ties one medicine to another, or milligrams to international units.
#pragma once

#include <optional>

#include "daemon/core/decimal.hpp"
#include "daemon/entry/household.hpp"

namespace nightferry::care {

struct DoseSize {
    Decimal ml;
    bool ml_is_exact = true;  // False when the volume had to be rounded to a microlitre, half up.
    Decimal content;          // In `unit`, exact.
    entry::Unit unit = entry::Unit::milligram;  // The unit of the medicine's strength.
};

// Nothing when the amount is in another unit than millilitres and that of the strength, or has more digits
// than a Decimal.
std::optional<DoseSize> size_of(const entry::Amount& amount, const entry::Medicine& medicine);

// The scale of a syringe: a mark every `step_ml`, up to `capacity_ml`. On a U-100 insulin syringe the marks
// are called units and stand for 0.01 mL each; they are no units of heparin.
struct Scale {
    Decimal step_ml;
    Decimal capacity_ml;
};

// How many steps a volume is; nothing when it lies between two marks or beyond the last.
std::optional<Decimal> mark_of(const Decimal& ml, const Scale& scale);

// The volume of a mark.
std::optional<Decimal> volume_at(const Decimal& mark, const Scale& scale);

// By how much the volume that leaves a graduated syringe may differ from what its scale says, as information:
// nominal capacity V, volume v expelled. Below half of the capacity it is a part of V and a part of v, from
// half on a part of v.
struct CapacityTolerance {
    Decimal of_capacity;        // Of V, below half.
    Decimal of_volume;          // Of v, below half.
    Decimal of_volume_at_half;  // Of v, from half on.
};

// ISO 7886-1 for capacities below 5 mL, from memory: 1.5 % of V and 2 % of v, then 5 % of v.
CapacityTolerance tolerance_iso_7886_1();
// ISO 8537:2007 (insulin syringes), read from a damaged copy and to be confirmed in the standard: 1 % of V
// and 2 % of v, then 5 % of v.
CapacityTolerance tolerance_iso_8537();

// Plus or minus, in millilitres; nothing when it has too many digits.
std::optional<Decimal> tolerance_ml(const CapacityTolerance& tolerance, const Decimal& capacity_ml,
                                    const Decimal& ml);

}  // namespace nightferry::care
