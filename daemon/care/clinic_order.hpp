// What a clinic's server says that it ordered for one person, as far as it was understood: plain values that
// know nothing of FHIR's releases. Beside every part that can be compared stand the words of what it says.
//
// Nothing here is taken over by the hub: it is compared with what the settings say, and shown.
#pragma once

#include <chrono>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "daemon/core/time.hpp"
#include "daemon/entry/entry.hpp"

namespace nightferry::care {

// How an order tells which medicine it is about.
enum class Recognition {
    by_code,       // By a code of the settings, or the published code of the substance.
    by_words,      // Words alone name it: it could be.
    same_purpose,  // By the published code of an anticoagulant that the household has not.
    unnamed,       // Nothing that was read tells it.
    other,         // Another medicine, which is none of this hub's business.
};

// One way in which the order has it given.
struct OrderedDose {
    std::string amount_words;             // "18 mg"; empty when it tells none.
    std::optional<entry::Amount> amount;  // Where it is a single one, in a unit that is used here.
    std::optional<entry::Amount> least;   // Or a range of them,
    std::optional<entry::Amount> most;
    std::string amount_unclear;  // Why neither is there.

    std::string times_words;                    // "every 12 h"; empty when it tells none.
    std::vector<std::chrono::minutes> clocks;   // At these times of each day, rising;
    std::optional<int> a_day;                   // or so many a day, at times that it leaves open,
    std::optional<std::chrono::minutes> apart;  // so far apart where it says that.
    bool is_not_daily = false;                  // It says clearly that it is not the same on all days.
    std::string times_unclear;                  // Why none of these is there.

    bool as_needed = false;
    std::optional<Instant> from;   // Not before this,
    std::optional<Instant> until;  // and not at or after this.
    std::string period_unclear;    // What it says of that and cannot be compared.
    std::string route_unclear;     // The same of where it is given, unless that is under the skin.
    std::string sequence;
    std::vector<std::string> beyond;  // Names of what it says besides.
    std::string text;                 // In the clinic's words.
};

struct ClinicOrder {
    std::string id;      // Of the resource at the clinic.
    std::string status;  // "active", or what became of it: FHIR's word, "not found", or "not listed".
    Instant seen;        // When it was first read like this.

    Recognition recognition = Recognition::unnamed;
    std::vector<std::string> medicines;  // Keys of the household's that it can be about.
    std::string medicine_words;
    std::optional<entry::Amount> strength;  // In a millilitre, where it tells that.
    std::string strength_words;

    bool is_prohibition = false;        // It says that this is not to be given.
    bool has_unknown_modifier = false;  // Something in it turns its meaning in a way that nobody here knows.
    std::optional<Instant> authored;
    std::vector<OrderedDose> doses;

    bool is_active() const { return status == "active"; }
};

// What is known of one clinic's orders for one person.
struct OrdersRead {
    std::string clinic;
    std::optional<Instant> first_read;  // Before the first reading there is nothing to compare.
    std::optional<Instant> last_read;
    std::string failure;      // Why the newest attempt read nothing; empty when it did.
    std::int64_t others = 0;  // Active orders of other medicines, of which nothing more is kept.
    std::vector<ClinicOrder> orders;
};

}  // namespace nightferry::care
