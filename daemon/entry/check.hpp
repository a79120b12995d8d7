// Draft to submission: every check that needs no other entry. An entry is never refused because it is
// worrying, only because it cannot be understood.
#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "daemon/core/time.hpp"
#include "daemon/entry/draft.hpp"
#include "daemon/entry/entry.hpp"
#include "daemon/entry/household.hpp"

namespace nightferry::entry {

// How far ahead of the hub's clock a recorded time may lie: people's clocks differ.
inline constexpr std::chrono::minutes future_allowance{5};

// Either a submission or at least one problem; all problems are reported, not only the first.
struct Checked {
    std::optional<Submission> submission;
    std::vector<Problem> problems;
};

Checked check(const Draft& draft, const Household& household, Instant now);

// All field names of the entry format.
std::vector<std::string_view> field_names();

}  // namespace nightferry::entry
