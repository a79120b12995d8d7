// A given amount beside the ordered one. It says how they differ and what slip that looks like; whether it
// matters is for people.
#pragma once

#include <optional>

#include "daemon/care/amounts.hpp"

namespace nightferry::care {

// The clinic's to configure. The factors have no published source (common practice, no source).
struct OrderLimits {
    Decimal match_ml{5, 3};      // Below this difference it is the ordered amount: half a 0.01 mL mark.
    Decimal large_factor{2, 0};  // At least so many times the order, or at most one such part of it.
    Decimal tenfold_from{8, 0};  // Between these a decimal point may have slipped.
    Decimal tenfold_to{12, 0};

    bool operator==(const OrderLimits&) const = default;
};

enum class AmountVerdict {
    match,
    deviates,
    large,             // By the large factor or more, either way.
    possible_tenfold,  // About ten times the order, or a tenth of it.
    not_comparable,    // Another medicine, strength or unit: there is nothing to compare.
};

struct AmountCheck {
    AmountVerdict verdict = AmountVerdict::not_comparable;
    Decimal given;  // What the two contain, in the unit of the strength.
    Decimal ordered;
    // Given as a percentage of ordered, one decimal, half up; nothing when nothing was ordered.
    std::optional<Decimal> percent;
};

// Both of the same medicine of the household; two strengths of one substance are two medicines.
AmountCheck compare_amounts(const entry::Amount& given, const entry::Amount& ordered,
                            const entry::Medicine& medicine, const OrderLimits& limits);

}  // namespace nightferry::care
