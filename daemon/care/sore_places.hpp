// Where it hurts, as looks at the body tell it: the bruises that are there, and the zones that rest because
// of lumps. Both are asked for instants that only rise from call to call, and read the looks once.
//
// Looks with one label and of one kind, a haematoma being a bruise and a hardening a lump, belong to one
// lesion in a zone. Those without a label belong together by their kind and zone; of bruises one zone can
// hold several, told apart by their coordinates: looks are at one bruise unless both places are known and lie
// half the longer length apart or more.
#pragma once

#include <cstddef>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "daemon/care/distance.hpp"
#include "daemon/care/sites.hpp"

namespace nightferry::care {

// The family's label of a lesion, or nothing, and what it may have been from the start (kin_of()).
using Series = std::pair<std::string, entry::FindingKind>;

// A bruise or a haematoma, as it was last looked at.
struct Bruise {
    const Look* look = nullptr;
    Spot spot;
    Decimal length_cm;       // Zero when nobody measured it.
    std::size_t series = 0;  // A number for zone and series.
};

class Bruises {
 public:
    // `looks` have to outlive it, and what it returns.
    explicit Bruises(std::span<const Look> looks) : looks_(looks) {}

    // What the looks before an instant left there, in the order of the last looks.
    const std::vector<Bruise>& before(Instant at);

 private:
    void read(const Look& look);

    std::span<const Look> looks_;  // Those not read yet.
    std::map<std::pair<BodyZone, Series>, std::size_t> series_;
    std::vector<Bruise> bruises_;
};

struct Rest {
    EntryId look;  // The last one at the lump, or the one that saw it gone.
    Instant look_at;
    std::optional<Instant> until;  // Absent while the lump is there.
};

class RestingZones {
 public:
    // `looks`, `rules` and `home` have to outlive it.
    RestingZones(std::span<const Look> looks, const SiteRules& rules, const Zone& home)
        : looks_(looks), rules_(rules), home_(home) {}

    // Why the zone rests, by the looks until then; of several reasons the one that lasts longest, and among
    // those the one that was looked at last.
    std::optional<Rest> at(const BodyZone& zone, Instant at);

    // All zones that rest.
    std::map<BodyZone, Rest> all_at(Instant at);

 private:
    void read_until(Instant at);
    void read(const Look& look);

    std::span<const Look> looks_;  // Those not read yet.
    const SiteRules& rules_;
    const Zone& home_;
    std::map<BodyZone, std::map<Series, Rest>> rests_;
};

}  // namespace nightferry::care
