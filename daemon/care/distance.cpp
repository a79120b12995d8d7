#include "daemon/care/distance.hpp"

#include <array>

namespace nightferry::care {

namespace {

__extension__ using Wide = __int128;

std::int64_t in_millionths(const Decimal& cm) {
    constexpr std::array<std::int64_t, Decimal::max_fraction_digits + 1> factors{
        1'000'000, 100'000, 10'000, 1'000, 100, 10, 1};
    return cm.coefficient() * factors[static_cast<std::size_t>(cm.scale())];
}

// The whole part of a square root, by Newton's method from above.
Wide root_of(Wide square) {
    Wide root = square;
    Wide next = (square + 1) / 2;
    while (next < root) {
        root = next;
        next = (root + square / root) / 2;
    }
    return root;
}

}  // namespace

Spot::Spot(const entry::Site& site) : zone(zone_of(site)), has_coordinates(site.x_cm && site.y_cm) {
    if (!has_coordinates) return;
    x = in_millionths(*site.x_cm);
    y = in_millionths(*site.y_cm);
}

bool Spot::on_grid_of(const Spot& other) const {
    return zone.region == other.zone.region &&
           (zone.region == entry::Region::abdomen || zone.side == other.zone.side);
}

std::optional<Distance> Distance::between(const Spot& a, const Spot& b) {
    if (!a.has_coordinates || !b.has_coordinates || !a.on_grid_of(b)) return std::nullopt;
    const Wide x = a.x - b.x;
    const Wide y = a.y - b.y;
    return Distance(x * x + y * y);
}

bool Distance::closer_than(const Decimal& cm) const {
    const Wide limit = in_millionths(cm);
    return limit > 0 && square_ < limit * limit;
}

// Twice everything: half of a length can need one digit more than there are.
bool Distance::within_reach(const Decimal& length_cm, const Decimal& margin_cm) const {
    const Wide twice_reach = in_millionths(length_cm) + 2 * in_millionths(margin_cm);
    return twice_reach > 0 && 4 * square_ < twice_reach * twice_reach;
}

// Half a step may be added to the whole part of the root: what is cut off cannot reach the next whole number.
Decimal Distance::rounded() const {
    constexpr Wide step = 1000;
    return Decimal(static_cast<std::int64_t>((root_of(square_) + step / 2) / step), 3);
}

}  // namespace nightferry::care
