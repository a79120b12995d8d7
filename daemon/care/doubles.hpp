// Doses that lie so close together that one may have been written down twice, or given twice. Both entries
// stay; the later one is provisional, and counts in no figure, until a person decides: by retracting it, or
// by amending it to say that it was an injection of its own.
#pragma once

#include <chrono>
#include <span>
#include <vector>

#include "daemon/care/known.hpp"
#include "daemon/care/matching.hpp"

namespace nightferry::care {

// The clinic's to configure (common practice, no source).
struct DoubleLimits {
    std::chrono::minutes gap{360};  // Doses less than this apart are looked at.
    std::chrono::minutes same_dose{
        30};  // Equal amounts at most so far apart look like one dose, written twice.

    bool operator==(const DoubleLimits&) const = default;
};

enum class DoubleKind {
    duplicate_entry,   // The same amount within a short time: it looks like one dose, written down twice.
    second_injection,  // Anything else.
};

struct PossibleDouble {
    std::size_t earlier = 0;  // Indices of doses.
    std::size_t later = 0;
    DoubleKind kind = DoubleKind::second_injection;
    bool decided = false;  // A person said that the later one is an injection of its own.
};

// `doses` and `slots` rise. Compared are a dose and the last one before it that is not provisional: when
// they are close, or when there is one and the same slot, and no other, that either could belong to. In the
// order of the later doses; time grows with the number of doses and slots.
std::vector<PossibleDouble> possible_doubles(std::span<const GivenDose> doses, std::span<const Instant> slots,
                                             const MatchLimits& match, const DoubleLimits& limits);

}  // namespace nightferry::care
