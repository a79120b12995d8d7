#include "daemon/care/lesions.hpp"

#include <algorithm>
#include <cstdint>
#include <map>
#include <string_view>
#include <tuple>
#include <utility>

#include "daemon/care/distance.hpp"
#include "daemon/care/lesion_kind.hpp"

namespace nightferry::care {

namespace {

using entry::FindingKind;
using entry::Site;

__extension__ using Wide = __int128;

constexpr Wide power_of_ten(int exponent) {
    Wide power = 1;
    while (exponent-- > 0)
        power *= 10;
    return power;
}

// Lengths are counted in millionths of a centimetre, and length times width in the squares of those. With
// pi/4 in units of 10^-17, an area is therefore counted in units of 10^-29 cm2.
constexpr Wide quarter_pi = 78'539'816'339'744'831;
constexpr int area_digits = 29;

// Just above it, the area has more digits than a Decimal; its product with quarter_pi still fits.
constexpr Wide rectangle_max = 13 * power_of_ten(20);

Wide in_millionths(const Decimal& value) {
    return value.coefficient() * power_of_ten(Decimal::max_fraction_digits - value.scale());
}

Wide in_area_units(const Decimal& cm2) {
    return in_millionths(cm2) * power_of_ten(area_digits - Decimal::max_fraction_digits);
}

std::optional<Decimal> ellipse_in(Wide rectangle) {
    constexpr Wide thousandth = power_of_ten(area_digits - 3);
    const Wide thousandths = (rectangle * quarter_pi + thousandth / 2) / thousandth;
    if (thousandths >= power_of_ten(Decimal::max_integer_digits + 3)) return std::nullopt;
    return Decimal(static_cast<std::int64_t>(thousandths), 3);
}

// Length times width, when the ellipse in it can be told.
std::optional<Wide> rectangle_of(const Decimal& length_cm, const Decimal& width_cm) {
    if (length_cm < Decimal() || width_cm < Decimal()) return std::nullopt;
    const Wide rectangle = in_millionths(length_cm) * in_millionths(width_cm);
    return rectangle <= rectangle_max && ellipse_in(rectangle) ? std::optional(rectangle) : std::nullopt;
}

std::optional<Decimal> ratio_of(Wide now, Wide before) {
    if (before == 0) return std::nullopt;
    const Wide hundredths = (200 * now + before) / (2 * before);
    if (hundredths >= power_of_ten(Decimal::max_integer_digits + 2)) return std::nullopt;
    return Decimal(static_cast<std::int64_t>(hundredths), 2);
}

// The same for all looks at one thing.
struct Key {
    std::string_view label;
    FindingKind kin = FindingKind::other;
    EntryId dose;
    auto operator<=>(const Key&) const = default;
};

std::optional<Key> key_of(const entry::Finding& finding) {
    if (finding.lesion) return Key{*finding.lesion, kin_of(finding.what), {}};
    if (finding.dose) return Key{{}, kin_of(finding.what), *finding.dose};
    return std::nullopt;
}

bool has_coordinates(const Site& site) {
    return site.x_cm && site.y_cm;
}

class Series {
 public:
    Series(const Look& first, const LesionLimits& limits) : limits_(limits) {
        lesion_.label = first.finding.lesion.value_or("");
        lesion_.what = first.finding.what;
        lesion_.first_seen = first.at;
        add(first);
    }

    // Whether the look is at something new, because this was gone.
    bool ends_before(const Look& look) const { return lesion_.resolved && !is_gone(look.finding); }

    void add(const Look& look) {
        const entry::Finding& finding = look.finding;
        if (finding.site && (has_coordinates(*finding.site) || !has_place())) lesion_.site = finding.site;
        if (finding.dose && !lesion_.dose) {
            lesion_.dose = finding.dose;
            lesion_.dose_is_stated = true;
        }
        lesion_.assessments.push_back(assess(look));
        if (is_gone(finding) && !lesion_.resolved) lesion_.resolved = look.at;
    }

    Lesion take() && { return std::move(lesion_); }

 private:
    bool has_place() const { return lesion_.site && has_coordinates(*lesion_.site); }

    Assessment assess(const Look& look) {
        const entry::Finding& finding = look.finding;
        std::optional<Wide> rectangle;
        if (is_gone(finding)) {
            rectangle = 0;
        } else if (finding.length_cm && finding.width_cm) {
            rectangle = rectangle_of(*finding.length_cm, *finding.width_cm);
        }
        Assessment found{look.id, look.at, finding.length_cm, finding.width_cm, {}, {}};
        if (rectangle) found.area_cm2 = ellipse_in(*rectangle);
        if (rectangle && last_) found.ratio = ratio_of(*rectangle, *last_);
        found.trend = is_gone(finding) ? Trend::resolved : trend_to(rectangle);
        found.persistent_growth = found.trend == Trend::growing && last_trend_ == Trend::growing;
        found.is_large = is_large(finding, rectangle);
        if (rectangle) {
            last_ = rectangle;
            last_trend_ = found.trend;
        }
        return found;
    }

    Trend trend_to(std::optional<Wide> now) const {
        if (!now) return Trend::not_measured;
        if (!last_) return Trend::first;
        const Wide millionfold = *now * power_of_ten(Decimal::max_fraction_digits);
        if (millionfold >= in_millionths(limits_.growth_factor) * *last_ &&
            (*now - *last_) * quarter_pi >= in_area_units(limits_.growth_cm2))
            return Trend::growing;
        // Nothing cannot shrink.
        return *now < *last_ && millionfold <= in_millionths(limits_.shrink_factor) * *last_
                   ? Trend::shrinking
                   : Trend::steady;
    }

    bool is_large(const entry::Finding& finding, std::optional<Wide> rectangle) const {
        if (finding.length_cm && *finding.length_cm >= limits_.large_length_cm) return true;
        return rectangle && *rectangle * quarter_pi >= in_area_units(limits_.large_area_cm2);
    }

    const LesionLimits& limits_;
    Lesion lesion_;
    // Of the last look at which it was measured: length times width, and its trend.
    std::optional<Wide> last_;
    Trend last_trend_ = Trend::not_measured;
};

// Series without a label or a dose, by where and what they are: a look that finds nothing there any more ends
// all of them.
class LooseEnds {
 public:
    void add(const Look& look, std::size_t series) {
        if (look.finding.site) open_[place_of(look.finding)].push_back(series);
    }

    // False when there is none to end.
    bool end(const Look& look, std::vector<Series>& all) {
        if (!look.finding.site || !is_gone(look.finding)) return false;
        const auto found = open_.find(place_of(look.finding));
        if (found == open_.end()) return false;
        for (const std::size_t series : found->second)
            all[series].add(look);
        open_.erase(found);
        return true;
    }

 private:
    using Place = std::tuple<entry::Region, entry::Side, FindingKind>;
    static Place place_of(const entry::Finding& finding) {
        return {finding.site->region, finding.site->side, kin_of(finding.what)};
    }

    std::map<Place, std::vector<std::size_t>> open_;
};

std::vector<Lesion> in_series(std::span<const Look> looks, const LesionLimits& limits) {
    std::vector<Series> all;
    std::map<Key, std::size_t> open;
    LooseEnds loose;
    for (const Look& look : looks) {
        if (!is_followed(look.finding)) continue;
        if (const auto key = key_of(look.finding)) {
            const auto [known, is_new] = open.try_emplace(*key, all.size());
            if (!is_new && !all[known->second].ends_before(look)) {
                all[known->second].add(look);
                continue;
            }
            known->second = all.size();
        } else if (loose.end(look, all)) {
            continue;
        } else if (!is_gone(look.finding)) {
            loose.add(look, all.size());
        }
        all.emplace_back(look, limits);
    }
    std::vector<Lesion> lesions;
    lesions.reserve(all.size());
    for (Series& series : all)
        lesions.push_back(std::move(series).take());
    return lesions;
}

Decimal first_length(const Lesion& lesion) {
    const auto measured = std::ranges::find_if(
        lesion.assessments, [](const Assessment& assessment) { return assessment.length_cm.has_value(); });
    return measured == lesion.assessments.end() ? Decimal() : *measured->length_cm;
}

const GivenDose* nearest_injection(const Lesion& lesion, std::span<const GivenDose> doses,
                                   const LesionLimits& limits) {
    if (!lesion.site || !has_coordinates(*lesion.site) || lesion.assessments.front().trend == Trend::resolved)
        return nullptr;
    const Spot here(*lesion.site);
    const Decimal length = first_length(lesion);
    const auto first =
        std::ranges::lower_bound(doses, lesion.first_seen - limits.injection_lookback, {}, &GivenDose::at);
    const GivenDose* nearest = nullptr;
    std::optional<Distance> least;
    for (auto dose = first; dose != doses.end() && dose->at <= lesion.first_seen; ++dose) {
        const auto apart = Distance::between(Spot(dose->site), here);
        if (!apart || !apart->within_reach(length, limits.injection_distance_cm) ||
            (least && *apart > *least))
            continue;
        nearest = &*dose;
        least = apart;
    }
    return nearest;
}

}  // namespace

bool is_followed(const entry::Finding& finding) {
    const entry::Place place = entry::place_of(finding.what);
    return place == entry::Place::at_a_site ||
           (place == entry::Place::either && (finding.site || finding.lesion));
}

std::optional<Decimal> ellipse_area(const Decimal& length_cm, const Decimal& width_cm) {
    const auto rectangle = rectangle_of(length_cm, width_cm);
    return rectangle ? ellipse_in(*rectangle) : std::nullopt;
}

std::vector<Lesion> follow_lesions(std::span<const Look> looks, std::span<const GivenDose> doses,
                                   const LesionLimits& limits) {
    std::vector<Lesion> lesions = in_series(looks, limits);
    std::map<EntryId, std::optional<Instant>> stated;
    for (Lesion& lesion : lesions) {
        if (lesion.dose) {
            stated.try_emplace(*lesion.dose);
        } else if (const GivenDose* nearest = nearest_injection(lesion, doses, limits)) {
            lesion.dose = nearest->id;
            lesion.dose_at = nearest->at;
        }
    }
    for (const GivenDose& dose : doses) {
        const auto found = stated.find(dose.id);
        if (found != stated.end()) found->second = dose.at;
    }
    for (Lesion& lesion : lesions) {
        if (lesion.dose_is_stated) lesion.dose_at = stated.at(*lesion.dose);
    }
    return lesions;
}

}  // namespace nightferry::care
