// The outline that sites are drawn on: a person of no age, seen from the front or from behind. One
// centimetre of a family's coordinates is one length everywhere on it. Used inside this room only.
#pragma once

#include <span>
#include <string_view>

namespace nightferry::report {

enum class View { front, back };

// How long a centimetre is drawn.
constexpr double cm = 8;

struct ZoneShape {
    std::string_view region;  // As answers name it.
    std::string_view side;
    View view = View::front;
    std::string_view outline;  // A path.
    double x = 0;              // Where 0, 0 of its coordinates lies: the navel, or the middle of the zone.
    double y = 0;
    double middle_x = 0;  // Where an injection without coordinates is drawn.
    double label_x = 0;
    double label_y = 0;
    bool label_ends_there = false;  // Else it begins there.
};

struct BodyShape {
    std::span<const std::string_view> outlines;  // Paths that are no zone.
    std::string_view navel;                      // Empty from behind.
};

// All paths lie in what these tell; the navel lies at 260, 196.
constexpr double body_left = 14;
constexpr double body_right = 506;
constexpr double body_height = 420;

const BodyShape& body_shape(View view);
std::span<const ZoneShape> zone_shapes();

}  // namespace nightferry::report
