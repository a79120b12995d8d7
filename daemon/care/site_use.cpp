#include <algorithm>
#include <cassert>
#include <map>

#include "daemon/care/sites.hpp"
#include "daemon/care/sore_places.hpp"

namespace nightferry::care {

namespace {

std::span<const GivenDose> doses_until(std::span<const GivenDose> doses, Instant at) {
    assert(std::ranges::is_sorted(doses, {}, &GivenDose::at));
    const auto after = std::ranges::upper_bound(doses, at, {}, &GivenDose::at);
    return {doses.begin(), after};
}

// How many of the last injections lie as the order says when the last one stands at `place` of it. The order
// is a circle: who agrees with all of it agrees for ever.
std::size_t agreement(std::span<const GivenDose> doses, const std::vector<BodyZone>& order,
                      std::size_t place) {
    const std::size_t most = std::min(doses.size(), order.size());
    std::size_t agreed = 0;
    while (agreed < most && zone_of(doses[doses.size() - 1 - agreed].site) ==
                                order[(place + order.size() - agreed) % order.size()])
        ++agreed;
    return agreed;
}

}  // namespace

std::vector<ZoneUse> zone_use(std::span<const GivenDose> doses, std::span<const Look> looks,
                              const SiteRules& rules, const Zone& home, Instant at) {
    assert(std::ranges::is_sorted(looks, {}, &Look::at));
    std::map<BodyZone, ZoneUse> uses;
    for (const GivenDose& dose : doses_until(doses, at)) {
        ZoneUse& use = uses[zone_of(dose.site)];
        if (dose.at >= at - rules.spacing_days) use.recent.push_back({dose.id, dose.at, dose.site});
        use.last = dose.at;
        use.last_dose = dose.id;
    }
    for (const auto& [zone, rest] : RestingZones(looks, rules, home).all_at(at)) {
        uses[zone].rests = true;
        uses[zone].rests_until = rest.until;
    }
    std::vector<ZoneUse> rows;
    for (auto& [zone, use] : uses) {
        use.zone = zone;
        rows.push_back(use);
    }
    return rows;
}

Rotation rotation_after(std::span<const GivenDose> doses, const SiteRules& rules, Instant at) {
    const auto given = doses_until(doses, at);
    if (given.empty()) return {};
    Rotation rotation;
    rotation.last = zone_of(given.back().site);
    std::size_t most = 0;
    for (std::size_t place = 0; place < rules.rotation.size(); ++place) {
        const std::size_t agreed = agreement(given, rules.rotation, place);
        if (agreed <= most) continue;
        most = agreed;
        rotation.next = rules.rotation[(place + 1) % rules.rotation.size()];
    }
    return rotation;
}

}  // namespace nightferry::care
