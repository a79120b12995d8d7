// How long ago the last dose was, at an instant: for the laboratory that takes a blood sample, and whether
// the sample falls into the clinic's window. Compared are instants, never the readings of clocks.
#pragma once

#include <chrono>
#include <optional>
#include <span>
#include <vector>

#include "daemon/care/doubles.hpp"
#include "daemon/care/timeline.hpp"

namespace nightferry::care {

// Four to six hours after the injection is the peak that most published schemes sample; the clinic's to
// configure, and absent where it did not ask for it.
struct SampleWindow {
    std::chrono::minutes from{240};
    std::chrono::minutes to{360};

    bool operator==(const SampleWindow&) const = default;
};

struct SinceDose {
    std::optional<EntryId> dose;  // The last one recorded at or before the instant, provisional or not.
    std::optional<Instant> given;
    std::optional<std::chrono::microseconds> elapsed;
    bool is_provisional = false;
    // The last one that is not provisional, where that is another.
    std::optional<EntryId> certain_dose;
    std::optional<std::chrono::microseconds> certain_elapsed;

    // Both ends inclusive; none without a window or a dose. `outside_by` is below zero when it is too early.
    // While the last dose is provisional, the window is told for the certain one too.
    std::optional<bool> in_window;
    std::chrono::microseconds outside_by{0};
    std::optional<bool> certain_in_window;

    // In the 24 hours before: doses that wait for a person to decide, and slots without a record (so far).
    // While there are any, the elapsed time may not be true.
    std::vector<EntryId> undecided;
    std::vector<Instant> without_record;
    // Of any time: a dose among them may be the last one.
    std::vector<EntryId> unreadable;
    bool is_settled() const { return undecided.empty() && without_record.empty() && unreadable.empty(); }
};

// `doses` are all that are known, and rise; `doubles` are theirs; `timeline` was made for `at` or a later
// time.
SinceDose since_dose(std::span<const GivenDose> doses, std::span<const PossibleDouble> doubles,
                     const Timeline& timeline, Instant at, const std::optional<SampleWindow>& window);

}  // namespace nightferry::care
