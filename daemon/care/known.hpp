// What was known of one person at an instant: the entries as they stood then, sorted by what they say. A
// dose that was retracted later is still there at an earlier instant, and one written down later is not.
//
// Known at means written down by then: a diary that reaches the hub a day late counts from its pages.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "daemon/care/amounts.hpp"
#include "daemon/care/clinic_order.hpp"
#include "daemon/core/time.hpp"
#include "daemon/entry/entry.hpp"
#include "daemon/entry/household.hpp"

namespace nightferry::care {

struct GivenDose {
    EntryId id;
    Instant at;
    std::string medicine;  // Key of the household's medicine.
    entry::Amount amount;  // As it was written,
    DoseSize size;         // and what it is by the strength of the medicine.
    entry::Site site;
    std::optional<std::string> vial;
    std::string by;            // Key of the carer.
    Instant recorded;          // When it was first written down; a correction is no late entry.
    bool is_separate = false;  // A person decided that it is an injection of its own.
};

struct NotGiven {
    EntryId id;
    Instant due;
    entry::WhyNotGiven why = entry::WhyNotGiven::other;
    std::string instructed_by;  // Who at the clinic said to leave it out; empty when nobody is named.
};

// One look at something on the body.
struct Look {
    EntryId id;
    Instant at;
    entry::Finding finding;
    std::string note = {};  // In the family's words.
};

struct OpenedVial {
    EntryId id;
    Instant at;
    std::string medicine;
    std::string label;
    std::optional<Decimal> volume_ml;
    std::optional<std::string> lot;
    std::optional<std::string> expires;  // "2027-03-31" or "2027-03".
};

// A clinic gets nothing of the person, because it is not clear which patient it means.
struct LeftOut {
    std::string clinic;
    Instant since;
    std::string because;  // For people, and with what to do.
};

struct Weighing {
    EntryId id;
    Instant at;
    Decimal kg;
    entry::HowWeighed how = entry::HowWeighed::measured;
};

// Each list rises by time; what happened at one time is in the order of ids, so that the order of arrival
// plays no part.
struct Known {
    std::vector<GivenDose> doses;
    std::vector<NotGiven> not_given;
    std::vector<Look> looks;
    std::vector<OpenedVial> vials;
    std::vector<Weighing> weights;
    // Doses whose medicine the household does not name any more, or whose amount does not fit its strength,
    // and entries whose stored text cannot be read any more.
    std::vector<EntryId> unreadable;
    // What each clinic that is asked for it lists as ordered; no entries, and so added by whoever asked.
    std::vector<OrdersRead> orders;
    // The clinics that get nothing of the person; added likewise.
    std::vector<LeftOut> left_out;

    // When the record of doses, given or not, begins. Before that nobody wrote anything down here, and
    // nothing is missing; none when there is no such entry.
    std::optional<Instant> begins() const;
};

// All revisions of one entry, in any order.
using Revisions = std::vector<entry::Version>;

Known known_at(std::span<const Revisions> entries, const entry::Household& household, Instant at);

}  // namespace nightferry::care
