// What in a review a person should look at.
#pragma once

#include <span>
#include <vector>

#include "daemon/care/review.hpp"

namespace nightferry::care {

// All flags that arise from what was known, the most urgent first, then the newest: those at the level of a
// note only while what they are about is recent, the others until a person or a later entry settles them.
// Reads everything in the review but its flags.
std::vector<Flag> find_flags(const Review& review, const Plan& plan, const entry::Household& household);

// The part of it that rests on no regimen: where it is not clear which patient a clinic means.
std::vector<Flag> flags_of_patients(std::span<const LeftOut> left_out, const FlagRules& rules, Instant now);

}  // namespace nightferry::care
