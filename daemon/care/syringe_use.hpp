// A given amount on the scale of the syringe it was given with: which mark it is, whether it lies on a mark
// at all, how exact the scale is, and what a prefilled syringe that was given in part had left. Information
// for people; nothing follows from it.
#pragma once

#include <optional>

#include "daemon/care/amounts.hpp"

namespace nightferry::care {

// The syringe that a home uses for a medicine. Marks and capacity differ by maker, so they are configured.
struct Syringe {
    Scale scale;
    bool is_prefilled = false;  // It comes with the whole capacity in it.
};

struct SyringeUse {
    std::optional<Decimal> mark;  // Steps of the scale; none between two marks or beyond the last.
    bool is_beyond_capacity = false;
    // Plus or minus, by the formula of the standard that the kind of syringe follows; see amounts.hpp.
    std::optional<Decimal> tolerance_ml;
    // Below 0.02 mL: volumes at which nurses' doses were found unacceptably inexact (Casella, Pediatrics
    // 1993;91:1155).
    bool is_hardly_measurable = false;
    std::optional<Decimal> discarded_ml;  // Of a prefilled syringe given in part,
    std::optional<Decimal> discarded;     // and what that contained, in the unit of the strength.
};

SyringeUse syringe_use(const DoseSize& size, const entry::Medicine& medicine, const Syringe& syringe);

}  // namespace nightferry::care
