// When passes start on their own: once a night, in the clinic's window, at a minute of this hub's own.
#pragma once

#include <chrono>
#include <string_view>

#include "daemon/core/time.hpp"
#include "daemon/core/zone.hpp"

namespace nightferry::sync {

struct Window {
    std::chrono::minutes opens{60};    // Local time of day, minutes after midnight.
    std::chrono::minutes closes{300};  // At or before `opens` when it closes on the next day.
};

class Timetable {
 public:
    // `hub` decides the offset into the window, the same every night, so that thousands of homes with one
    // window do not knock at once.
    Timetable(Window window, Zone zone, std::string_view hub);

    struct Night {
        Instant start;  // When this hub's pass is to start.
        Instant end;    // When the window closes.
    };
    // The night whose start lies last at or before `now`, and the one after it.
    Night latest(Instant now) const;
    Night next(Instant now) const;

 private:
    Night night_of(std::chrono::local_days day) const;
    Instant instant_at(LocalSecond local) const;

    Window window_;
    Zone zone_;
    std::chrono::seconds offset_;
};

}  // namespace nightferry::sync
