#include "daemon/care/sites.hpp"

#include <algorithm>
#include <cassert>
#include <deque>
#include <utility>

#include "daemon/care/distance.hpp"
#include "daemon/care/sore_places.hpp"

namespace nightferry::care {

namespace {

const Spot navel{{entry::Region::abdomen, entry::Side::left, Decimal(), Decimal()}};

// Tells for instants that may only rise whether a catheter lay under the skin.
class Catheters {
 public:
    explicit Catheters(std::vector<CatheterTime> times) : times_(std::move(times)) {
        std::ranges::sort(times_, {}, &CatheterTime::from);
    }

    bool one_lies_at(Instant at) {
        for (; next_ < times_.size() && times_[next_].from <= at; ++next_)
            until_ = std::max(until_, times_[next_].until.value_or(Instant::max()));
        return at < until_;
    }

 private:
    std::vector<CatheterTime> times_;
    std::size_t next_ = 0;
    Instant until_ = Instant::min();
};

// Walks through the doses once; the spots that count as recent move along.
class SiteCheck {
 public:
    SiteCheck(std::span<const GivenDose> doses, std::span<const Look> looks, const SiteRules& rules,
              const Zone& home)
        : doses_(doses),
          rules_(rules),
          bruises_(looks),
          resting_zones_(looks, rules, home),
          catheters_(rules.catheters) {}

    std::vector<SiteNote> result() {
        for (const GivenDose& dose : doses_) {
            while (!recent_.empty() && recent_.front().dose->at < dose.at - rules_.spacing_days)
                recent_.pop_front();
            check({&dose, Spot(dose.site)});
        }
        return std::move(notes_);
    }

 private:
    struct Injection {
        const GivenDose* dose = nullptr;
        Spot spot;
    };

    void check(const Injection& here) {
        const std::vector<Bruise>& bruises = bruises_.before(here.dose->at);
        const bool through_catheter = catheters_.one_lies_at(here.dose->at);
        check_navel(here);
        if (!through_catheter) check_spacing(here);
        if (!through_catheter) check_side(here);
        check_bruises(here, bruises);
        check_rest(here);
        check_exclusions(here);
        check_region(here);
        if (!through_catheter) check_coordinates(here, bruises);
        recent_.push_back(here);
        before_ = here.dose;
    }

    SiteNote& note(SiteConcern concern, const Injection& here) {
        SiteNote& added = notes_.emplace_back();
        added.concern = concern;
        added.dose = here.dose->id;
        return added;
    }

    SiteNote& note(SiteConcern concern, const Injection& here, const EntryId& other, Instant other_at) {
        SiteNote& added = note(concern, here);
        added.other = other;
        added.other_at = other_at;
        return added;
    }

    static void measure(SiteNote& note, const Distance& distance, std::optional<Decimal> limit_cm) {
        note.distance_cm = distance.rounded();
        note.limit_cm = std::move(limit_cm);
    }

    void check_navel(const Injection& here) {
        const auto distance = Distance::between(here.spot, navel);
        if (distance && distance->closer_than(rules_.navel_margin_cm))
            measure(note(SiteConcern::near_navel, here), *distance, rules_.navel_margin_cm);
    }

    void check_spacing(const Injection& here) {
        std::optional<Distance> least;
        const GivenDose* nearest = nullptr;
        for (const Injection& other : recent_) {
            const auto distance = Distance::between(here.spot, other.spot);
            if (!distance || (least && *distance > *least)) continue;
            least = distance;
            nearest = other.dose;
        }
        if (least && least->closer_than(rules_.spacing_cm))
            measure(note(SiteConcern::close_to_recent, here, nearest->id, nearest->at), *least,
                    rules_.spacing_cm);
    }

    void check_side(const Injection& here) {
        if (rules_.alternate_sides && before_ != nullptr && before_->site.side == here.dose->site.side)
            note(SiteConcern::same_side, here, before_->id, before_->at);
    }

    void check_bruises(const Injection& here, const std::vector<Bruise>& bruises) {
        std::optional<Distance> least;
        const Bruise* nearest = nullptr;
        for (const Bruise& bruise : bruises) {
            const auto distance = Distance::between(here.spot, bruise.spot);
            if (!distance || (least && *distance > *least)) continue;
            if (!distance->within_reach(bruise.length_cm, rules_.bruise_margin_cm)) continue;
            least = distance;
            nearest = &bruise;
        }
        if (least)
            measure(note(SiteConcern::in_bruise, here, nearest->look->id, nearest->look->at), *least,
                    reach_of(*nearest));
    }

    // For reading: a seventh decimal is rounded.
    std::optional<Decimal> reach_of(const Bruise& bruise) const {
        const auto half =
            divide(bruise.length_cm, Decimal(2, 0), Decimal::max_fraction_digits, Rounding::half_up);
        return half ? add(*half, rules_.bruise_margin_cm) : std::nullopt;
    }

    void check_rest(const Injection& here) {
        if (const auto rest = resting_zones_.at(here.spot.zone, here.dose->at))
            note(SiteConcern::resting, here, rest->look, rest->look_at);
    }

    void check_exclusions(const Injection& here) {
        for (const Exclusion& exclusion : rules_.exclusions) {
            const Spot centre(exclusion.site);
            if (!exclusion.radius_cm || !centre.has_coordinates) {
                if (centre.zone == here.spot.zone) note(SiteConcern::excluded, here).why = exclusion.why;
                continue;
            }
            const auto distance = Distance::between(here.spot, centre);
            if (!distance || !distance->closer_than(*exclusion.radius_cm)) continue;
            SiteNote& added = note(SiteConcern::excluded, here);
            measure(added, *distance, *exclusion.radius_cm);
            added.why = exclusion.why;
        }
    }

    void check_region(const Injection& here) {
        const auto& named = rules_.regions;
        if (!named.empty() && std::ranges::find(named, here.spot.zone.region) == named.end())
            note(SiteConcern::other_region, here);
    }

    void check_coordinates(const Injection& here, const std::vector<Bruise>& bruises) {
        if (!here.spot.has_coordinates && asks_for_distance(here.spot)) {
            note(SiteConcern::spacing_not_assessable, here);
            return;
        }
        const auto other = std::find_if(recent_.rbegin(), recent_.rend(), [&](const Injection& one) {
            return one.spot.zone == here.spot.zone && !one.spot.has_coordinates;
        });
        if (other != recent_.rend() && rules_.spacing_cm > Decimal()) {
            note(SiteConcern::spacing_not_assessable, here, other->dose->id, other->dose->at);
            return;
        }
        const auto bruise = std::find_if(bruises.rbegin(), bruises.rend(), [&](const Bruise& one) {
            const bool both = here.spot.has_coordinates && one.spot.has_coordinates;
            return one.spot.zone == here.spot.zone && !both;
        });
        if (bruise != bruises.rend())
            note(SiteConcern::spacing_not_assessable, here, bruise->look->id, bruise->look->at);
    }

    bool asks_for_distance(const Spot& spot) const {
        return rules_.spacing_cm > Decimal() ||
               (rules_.navel_margin_cm > Decimal() && spot.on_grid_of(navel)) ||
               std::ranges::any_of(rules_.exclusions, [&](const Exclusion& exclusion) {
                   return exclusion.radius_cm && spot.on_grid_of(Spot(exclusion.site));
               });
    }

    std::span<const GivenDose> doses_;
    const SiteRules& rules_;
    Bruises bruises_;
    RestingZones resting_zones_;
    Catheters catheters_;
    std::deque<Injection> recent_;
    const GivenDose* before_ = nullptr;
    std::vector<SiteNote> notes_;
};

}  // namespace

std::vector<SiteNote> check_sites(std::span<const GivenDose> doses, std::span<const Look> looks,
                                  const SiteRules& rules, const Zone& home) {
    assert(std::ranges::is_sorted(doses, {}, &GivenDose::at) && std::ranges::is_sorted(looks, {}, &Look::at));
    return SiteCheck(doses, looks, rules, home).result();
}

}  // namespace nightferry::care
