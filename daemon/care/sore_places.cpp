#include "daemon/care/sore_places.hpp"

#include <algorithm>

#include "daemon/care/calendar.hpp"
#include "daemon/care/lesion_kind.hpp"

namespace nightferry::care {

namespace {

using std::chrono::days;

bool is_bruise(entry::FindingKind kind) {
    return kin_of(kind) == entry::FindingKind::bruise;
}

bool is_lump(entry::FindingKind kind) {
    return kin_of(kind) == entry::FindingKind::lump;
}

// Whether both are one bruise, the series and hence the zone being the same. A label says so by itself.
bool is_same(const Bruise& a, const Bruise& b) {
    if (a.look->finding.lesion) return true;
    const auto apart = Distance::between(a.spot, b.spot);
    return !apart || apart->is_zero() || apart->within_reach(std::max(a.length_cm, b.length_cm), Decimal());
}

Series series_of(const entry::Finding& finding) {
    return {finding.lesion.value_or(""), kin_of(finding.what)};
}

// When the day that lies so many days after the day of `at` is over.
Instant end_of_day(const Zone& home, Instant at, days later) {
    return start_of(home, day_of(home, at) + later + days{1});
}

bool lasts_longer(const Rest& a, const Rest& b) {
    const Instant a_until = a.until.value_or(Instant::max());
    const Instant b_until = b.until.value_or(Instant::max());
    return a_until != b_until ? a_until > b_until : a.look_at >= b.look_at;
}

}  // namespace

const std::vector<Bruise>& Bruises::before(Instant at) {
    for (; !looks_.empty() && looks_.front().at < at; looks_ = looks_.subspan(1))
        read(looks_.front());
    return bruises_;
}

void Bruises::read(const Look& look) {
    const entry::Finding& finding = look.finding;
    const bool gone = is_gone(finding);
    if (!finding.site || (!gone && !is_bruise(finding.what))) return;
    const auto key = std::pair(zone_of(*finding.site), series_of(finding));
    const std::size_t series = series_.try_emplace(key, series_.size()).first->second;
    const Bruise seen{&look, Spot(*finding.site), finding.length_cm.value_or(Decimal()), series};
    std::erase_if(bruises_, [&](const Bruise& one) { return one.series == series && is_same(seen, one); });
    if (!gone) bruises_.push_back(seen);
}

std::optional<Rest> RestingZones::at(const BodyZone& zone, Instant at) {
    read_until(at);
    const auto known = rests_.find(zone);
    if (known == rests_.end()) return std::nullopt;
    std::erase_if(known->second,
                  [at](const auto& one) { return one.second.until && *one.second.until <= at; });
    std::optional<Rest> longest;
    for (const auto& [series, rest] : known->second) {
        if (!longest || lasts_longer(rest, *longest)) longest = rest;
    }
    return longest;
}

std::map<BodyZone, Rest> RestingZones::all_at(Instant instant) {
    read_until(instant);
    std::map<BodyZone, Rest> all;
    for (const auto& [zone, series] : rests_) {
        if (const auto rest = at(zone, instant)) all.emplace(zone, *rest);
    }
    return all;
}

void RestingZones::read_until(Instant at) {
    for (; !looks_.empty() && looks_.front().at <= at; looks_ = looks_.subspan(1))
        read(looks_.front());
}

// A second look that sees nothing any more does not lengthen the rest.
void RestingZones::read(const Look& look) {
    const entry::Finding& finding = look.finding;
    if (!finding.site) return;
    auto& in_zone = rests_[zone_of(*finding.site)];
    const Series series = series_of(finding);
    if (!is_gone(finding)) {
        if (is_lump(finding.what)) in_zone[series] = {look.id, look.at, std::nullopt};
        return;
    }
    const auto rest = in_zone.find(series);
    if (rest != in_zone.end() && !rest->second.until)
        rest->second = {look.id, look.at, end_of_day(home_, look.at, rules_.lump_rest)};
}

}  // namespace nightferry::care
