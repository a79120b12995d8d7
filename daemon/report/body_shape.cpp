#include "daemon/report/body_shape.hpp"

#include <array>

namespace nightferry::report {

namespace {

using namespace std::string_view_literals;

// Head, neck, trunk with hips, arms down to the elbow, legs down to the knee.
constexpr std::array outlines{
    "M 260 4 c 17 0 27 12 27 28 c 0 18 -12 32 -27 32 c -15 0 -27 -14 -27 -32 c 0 -16 10 -28 27 -28 z"sv,
    "M 245 60 v 12 c -22 6 -58 6 -74 18 c -10 8 -8 26 -2 40 l 4 40 c 2 20 -2 40 -8 62 c -6 22 -8 34 -6 46"
    " M 275 60 v 12 c 22 6 58 6 74 18 c 10 8 8 26 2 40 l -4 40 c -2 20 2 40 8 62 c 6 22 8 34 6 46"sv,
    "M 159 278 c 2 40 6 90 12 136 M 361 278 c -2 40 -6 90 -12 136"
    " M 260 300 c -4 30 -10 80 -14 114 M 260 300 c 4 30 10 80 14 114"sv,
};

constexpr BodyShape front{outlines, "M 256 196 a 4 4 0 1 0 8 0 a 4 4 0 1 0 -8 0 z"};
constexpr BodyShape back{outlines, ""};

// From the front the person's left is on the right; from behind it is on the left.
constexpr std::array shapes{
    ZoneShape{"abdomen", "right", View::front, "M 258 138 H 182 c 4 26 4 50 -2 78 l -6 34 c 24 6 56 8 84 8 z",
              260, 196, 215, 148, 226, true},
    ZoneShape{"abdomen", "left", View::front,
              "M 262 138 H 338 c -4 26 -4 50 2 78 l 6 34 c -24 6 -56 8 -84 8 z", 260, 196, 305, 372, 226,
              false},
    ZoneShape{"thigh", "right", View::front, "M 170 292 c 20 8 52 12 80 12 c -2 30 -8 66 -12 96 h -58 z", 210,
              350, 210, 148, 346, true},
    ZoneShape{"thigh", "left", View::front, "M 350 292 c -20 8 -52 12 -80 12 c 2 30 8 66 12 96 h 58 z", 310,
              350, 310, 372, 346, false},
    ZoneShape{"upper_arm", "right", View::front,
              "M 166 92 c -22 6 -34 22 -40 48 l -14 62 c 10 8 28 10 38 4 l 16 -62 c 4 -16 4 -34 0 -52 z", 142,
              146, 142, 104, 116, true},
    ZoneShape{"upper_arm", "left", View::front,
              "M 354 92 c 22 6 34 22 40 48 l 14 62 c -10 8 -28 10 -38 4 l -16 -62 c -4 -16 -4 -34 0 -52 z",
              378, 146, 378, 416, 116, false},
    ZoneShape{"lower_back", "left", View::back, "M 258 158 H 182 c 2 20 0 40 -4 58 c 24 6 56 8 80 8 z", 218,
              190, 218, 148, 186, true},
    ZoneShape{"lower_back", "right", View::back, "M 262 158 H 338 c -2 20 0 40 4 58 c -24 6 -56 8 -80 8 z",
              302, 190, 302, 372, 186, false},
    ZoneShape{"buttock", "left", View::back,
              "M 258 232 c -24 0 -56 -2 -82 -8 c -10 24 -12 50 -8 72 c 26 12 66 14 90 4 z", 214, 264, 214,
              148, 270, true},
    ZoneShape{"buttock", "right", View::back,
              "M 262 232 c 24 0 56 -2 82 -8 c 10 24 12 50 8 72 c -26 12 -66 14 -90 4 z", 306, 264, 306, 372,
              270, false},
};

}  // namespace

const BodyShape& body_shape(View view) {
    return view == View::front ? front : back;
}

std::span<const ZoneShape> zone_shapes() {
    return shapes;
}

}  // namespace nightferry::report
