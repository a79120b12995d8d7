#include "daemon/care/calendar.hpp"

#include "daemon/care/slots.hpp"

namespace nightferry::care {

std::chrono::local_time<std::chrono::microseconds> clock_at(const Zone& home, Instant at) {
    return std::chrono::local_time<std::chrono::microseconds>{at.time_since_epoch() + home.at(at).offset};
}

std::chrono::local_days day_of(const Zone& home, Instant at) {
    return std::chrono::floor<std::chrono::days>(clock_at(home, at));
}

Instant start_of(const Zone& home, std::chrono::local_days day) {
    return meant_by(home, LocalSecond{day.time_since_epoch()}).at;
}

std::chrono::local_days monday_of(std::chrono::local_days day) {
    return day - (std::chrono::weekday{day} - std::chrono::Monday);
}

}  // namespace nightferry::care
