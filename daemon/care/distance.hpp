// How far apart two spots are, exactly: squares of whole millionths of a centimetre are compared, so that
// 2.5 cm on a grid is 2.5 cm. What is shown is rounded.
#pragma once

#include <compare>
#include <cstdint>
#include <optional>

#include "daemon/care/sites.hpp"
#include "daemon/core/decimal.hpp"

namespace nightferry::care {

// A site on its grid: the abdomen has one, of the other regions each side its own.
struct Spot {
    BodyZone zone;
    bool has_coordinates = false;
    std::int64_t x = 0;  // In millionths of a centimetre.
    std::int64_t y = 0;

    Spot() = default;
    explicit Spot(const entry::Site& site);

    bool on_grid_of(const Spot& other) const;
};

class Distance {
 public:
    // Nothing without the coordinates of both, on one grid.
    static std::optional<Distance> between(const Spot& a, const Spot& b);

    // Nothing is closer than zero.
    bool closer_than(const Decimal& cm) const;
    // Closer than the margin beyond half of the length.
    bool within_reach(const Decimal& length_cm, const Decimal& margin_cm) const;
    bool is_zero() const { return square_ == 0; }
    auto operator<=>(const Distance&) const = default;

    // In centimetres, with three decimals, half up.
    Decimal rounded() const;

 private:
    __extension__ using Wide = __int128;

    explicit Distance(Wide square) : square_(square) {}

    Wide square_;  // Of millionths.
};

}  // namespace nightferry::care
