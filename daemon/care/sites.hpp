// Injection sites beside what the clinic configured: distances, sides, places that rest. These are facts for
// people to look at; nothing here says where to inject.
//
// A zone is a region and a side. Left and right are the person's own. On the abdomen the navel is the origin,
// x to the person's left and y up; the other regions have grids of their own, so a distance exists only
// within one zone (on the abdomen also across the middle). Where a dose or a finding has only a zone,
// distances are not assessable, and what depends on the zone alone is still checked.
#pragma once

#include <chrono>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "daemon/care/known.hpp"
#include "daemon/core/zone.hpp"

namespace nightferry::care {

struct BodyZone {
    entry::Region region = entry::Region::abdomen;
    entry::Side side = entry::Side::left;
    auto operator<=>(const BodyZone&) const = default;
};

inline BodyZone zone_of(const entry::Site& site) {
    return {site.region, site.side};
}

// A scar or another place never to be used: a circle, or the whole zone when it has no radius or no
// coordinates.
struct Exclusion {
    entry::Site site;
    std::optional<Decimal> radius_cm;
    std::string why;
};

// While a catheter lies under the skin, the same spot is right: spacing and sides are not judged.
struct CatheterTime {
    Instant from;
    std::optional<Instant> until;  // No longer there from then on. Absent: it is still there.
};

// All of it is the clinic's to configure.
struct SiteRules {
    Decimal navel_margin_cm{5, 0};  // From a hospital's leaflets on these injections: 5 cm, or two inches.
    // An inch, from nursing texts (from memory); published values go from 2 to 3.8 cm.
    Decimal spacing_cm{25, 1};
    std::chrono::days spacing_days{7};   // How long a spot counts as recent, in days of 24 hours, the last
                                         // instant included (common practice, no source).
    bool alternate_sides = true;         // Labels of these medicines ask for it.
    Decimal bruise_margin_cm{1, 0};      // Beyond half of a bruise's length (common practice, no source).
    std::chrono::days lump_rest{7};      // After a lump has gone (common practice, no source).
    std::vector<entry::Region> regions;  // Those that the clinic named; empty: any.
    std::vector<Exclusion> exclusions;
    std::vector<CatheterTime> catheters;
    std::vector<BodyZone> rotation;  // The clinic's order of zones, if it gave one.
};

enum class SiteConcern {
    near_navel,              // Closer to the navel than its margin.
    close_to_recent,         // Closer than the spacing to a recent injection.
    same_side,               // On the side of the injection before.
    in_bruise,               // Within a bruise's margin: half of its length and what the clinic adds.
    resting,                 // In a zone that rests because of a lump.
    excluded,                // In a place that is never used; one note for each of them.
    other_region,            // In a region that the clinic did not name.
    spacing_not_assessable,  // A rule asks for a distance, but there are no coordinates here, or at a recent
                             // injection in this zone or a bruise in it.
};

struct SiteNote {
    SiteConcern concern = SiteConcern::near_navel;
    EntryId dose;
    std::optional<Decimal> distance_cm;  // Three decimals, half up.
    std::optional<Decimal> limit_cm;     // What it was compared with.
    std::optional<EntryId> other;        // The earlier dose, or the look at the bruise or lump.
    std::optional<Instant> other_at;
    std::string why;  // Of an exclusion.
};

// Every injection beside those before it and the looks before it; in the order of the doses, and for one dose
// in the order of the enumeration. `doses` and `looks` rise. Of several recent injections only the nearest
// that is too close is named, of equally near ones the latest; of several bruises likewise. A bruise (or
// haematoma) counts as last looked at before the injection, until it is gone; without a length there is only
// the margin. Compared are exact squares: 2.5 cm on a grid is not closer than 2.5 cm. A lump's zone rests
// from the first look that found it (lump or hardening) to the end of the day that lies `lump_rest` after the
// one on which every such look's series was seen gone; days are the home's.
std::vector<SiteNote> check_sites(std::span<const GivenDose> doses, std::span<const Look> looks,
                                  const SiteRules& rules, const Zone& home);

struct Injection {
    EntryId dose;
    Instant at;
    entry::Site site;
};

// Where recent injections lie, one row for each zone that was used or rests.
struct ZoneUse {
    BodyZone zone;
    std::vector<Injection> recent;  // Those within the spacing days before `at`, the newest last.
    std::optional<Instant> last;    // The last injection ever, before or at `at`.
    std::optional<EntryId> last_dose;
    bool rests = false;                  // Because of a lump.
    std::optional<Instant> rests_until;  // Absent while a lump is there.
};

struct Rotation {
    std::optional<BodyZone> last;  // Of the last injection.
    std::optional<BodyZone> next;  // What the configured order says after it; none without an order, or when
                                   // the last injection lies in no zone of the order.
};

// In the order of zones. Doses and looks after `at` are left out.
std::vector<ZoneUse> zone_use(std::span<const GivenDose> doses, std::span<const Look> looks,
                              const SiteRules& rules, const Zone& home, Instant at);

// A zone may stand in the order several times; then the step is told by the injections before the last one,
// and the longest agreement counts; of equal ones the first in the order.
Rotation rotation_after(std::span<const GivenDose> doses, const SiteRules& rules, Instant at);

}  // namespace nightferry::care
