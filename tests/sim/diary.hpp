// What a simulated family writes down, and what it knows of it: whatever the hub has acknowledged.
#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "daemon/entry/household.hpp"
#include "daemon/logbook/logbook.hpp"
#include "tests/sim/agenda.hpp"
#include "tests/sim/dice.hpp"

namespace nightferry::sim {

// One person, two carers, one medicine; invented.
const entry::Household& family_household();

// A word in a note that makes a clinic's rule refuse an entry, and one that breaks its server.
inline constexpr std::string_view refused_word = "thistle";
inline constexpr std::string_view breaking_word = "bramble";
// What is only in notes, and in the reasons of corrections.
inline constexpr std::string_view note_text = "slept well";
inline constexpr std::string_view reason_text = "looked again";

class Diary {
 public:
    explicit Diary(Dice& dice) : dice_(dice) {}

    struct Temper {
        bool refused = false;   // May write what the clinic refuses,
        bool breaking = false;  // or what breaks its server.
    };
    // Something new, happened at `now` by the family's own clock, at `since` of the world's.
    entry::Submission write(Instant now, Span since, const Temper& temper);
    // Corrects or takes back something written before; nothing when there is nothing to.
    std::optional<entry::Submission> amend(Instant now, bool retract);
    // Something handed in before, word by word.
    std::optional<entry::Submission> repeat();

    void acknowledged(const EntryId& id, std::int64_t revision);

    struct Known {
        std::vector<entry::Submission> said;  // In order.
        Span since{0};                        // When the first of it was written down.
        std::int64_t acknowledged = 0;        // The highest revision of which the hub said that it has it.
        bool retracted = false;
        bool refused = false;
        bool breaking = false;
    };
    const std::map<EntryId, Known>& entries() const { return entries_; }

 private:
    EntryId any();

    Dice& dice_;
    std::map<EntryId, Known> entries_;
    std::vector<EntryId> ids_;
};

}  // namespace nightferry::sim
