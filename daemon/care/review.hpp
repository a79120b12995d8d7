// Everything that is computed of one person for a period, as it was known at an instant: one value from which
// reports, flags and summaries are read.
#pragma once

#include <chrono>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "daemon/care/adherence.hpp"
#include "daemon/care/flag.hpp"
#include "daemon/care/known.hpp"
#include "daemon/care/lesions.hpp"
#include "daemon/care/order_comparison.hpp"
#include "daemon/care/plan.hpp"
#include "daemon/care/since_dose.hpp"
#include "daemon/care/sites.hpp"
#include "daemon/care/supply.hpp"
#include "daemon/care/timeline.hpp"
#include "daemon/care/vials.hpp"

namespace nightferry::care {

struct Period {
    Instant from;
    Instant to;  // Left out.

    bool has(Instant at) const { return from <= at && at < to; }
};

// A whole or cut week of the period, Monday to Sunday at home.
struct Week {
    Period period;
    std::optional<Adherence> figures;
};

// An injection beside its order and on its syringe.
struct DoseFacts {
    std::optional<AmountCheck> check;  // None for an extra dose: nothing was ordered for it.
    std::optional<SyringeUse> syringe;
};

struct Review {
    std::string person;
    Period period;
    Instant known_at;
    Known known;                       // All of it, not only the period's.
    Timeline timeline;                 // From the first order on.
    std::optional<Adherence> figures;  // None when a sum has too many digits.
    std::vector<Week> weeks;
    std::vector<DoseFacts> doses;  // Of timeline.doses, one for each.
    std::vector<SiteNote> sites;   // Of all doses that count.
    std::vector<ZoneUse> zones;    // At the end of the period, or when it was known if that is earlier.
    Rotation rotation;
    std::vector<Lesion> lesions;
    VialBook vials;
    Forecast forecast;                   // From when it was known.
    Supply supply;                       // By the vials opened in the period.
    std::vector<OrdersCompared> orders;  // Of known.orders, one for each.
    std::vector<Flag> flags;             // All that arise when it was known, whatever the period.
};

// `entries` are all of the person, with all revisions.
Review review_of(const Plan& plan, const entry::Household& household, std::span<const Revisions> entries,
                 const Period& period, Instant known_at);

// The same of what is known, as it was known then.
Review review_of_known(const Plan& plan, const entry::Household& household, Known known, const Period& period,
                       Instant known_at);

// How long ago the last dose was at an instant, as known by then or later.
SinceDose since_dose_in(const Review& review, const Plan& plan, Instant at);

}  // namespace nightferry::care
