// Summaries of closed days and weeks, as the clinic gets them.
#pragma once

#include <chrono>
#include <optional>
#include <vector>

#include "daemon/care/review.hpp"
#include "daemon/entry/entry.hpp"

namespace nightferry::care {

// One for each day, and one for each whole week (Monday to Sunday), from the first slot of the review's
// timeline on, or from `since` if that is earlier, that is closed when the review was known: it is over at
// home, and none of its slots is still due. After the end of the regimen only days on which something was
// given have one. The days rise; a week follows its Sunday. Entries without id and author: both are the
// hub's.
//
// A day on which nothing was ordered has a summary too; its shares are of nothing, and say so.
std::vector<entry::Entry> summaries_of(const Review& review, const Plan& plan,
                                       const entry::Household& household,
                                       std::optional<std::chrono::local_days> since = std::nullopt);

// The name from which the id of a summary is computed: the same for every version of it.
std::string name_of_summary(const entry::Entry& summary);

}  // namespace nightferry::care
