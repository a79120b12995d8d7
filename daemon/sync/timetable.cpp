#include "daemon/sync/timetable.hpp"

#include <variant>

namespace nightferry::sync {

namespace {

using namespace std::chrono;

// FNV-1a: any hash that never changes between versions will do.
std::uint64_t stable_hash(std::string_view text) {
    std::uint64_t hash = 14695981039346656037ULL;
    for (const char c : text)
        hash = (hash ^ static_cast<unsigned char>(c)) * 1099511628211ULL;
    return hash;
}

seconds length_of(const Window& window) {
    const minutes length =
        window.closes > window.opens ? window.closes - window.opens : window.closes - window.opens + days{1};
    return length;
}

}  // namespace

Timetable::Timetable(Window window, Zone zone, std::string_view hub)
    : window_(window), zone_(std::move(zone)) {
    // The last quarter of the window stays free for the work itself.
    const auto usable = static_cast<std::uint64_t>(length_of(window).count()) * 3 / 4;
    offset_ = seconds{usable == 0 ? 0 : stable_hash(hub) % usable};
}

Instant Timetable::instant_at(LocalSecond local) const {
    const Zone::Reading reading = zone_.read(local);
    if (const auto* moment = std::get_if<Moment>(&reading)) return moment->at;
    if (const auto* twice = std::get_if<Zone::Ambiguous>(&reading)) return twice->first.at;
    // The clocks skip this reading: the same number of minutes after the hour before it.
    return instant_at(local - hours{1}) + hours{1};
}

Timetable::Night Timetable::night_of(local_days day) const {
    const LocalSecond opens = day + window_.opens;
    return {instant_at(opens + offset_), instant_at(opens + length_of(window_))};
}

Timetable::Night Timetable::latest(Instant now) const {
    const Moment here = zone_.at(now);
    auto day = floor<days>(LocalSecond{floor<seconds>(now.time_since_epoch()) + here.offset});
    while (night_of(day).start > now)
        day -= days{1};
    return night_of(day);
}

Timetable::Night Timetable::next(Instant now) const {
    const Moment here = zone_.at(now);
    // The window that opened yesterday may hold a start that is still to come.
    auto day = floor<days>(LocalSecond{floor<seconds>(now.time_since_epoch()) + here.offset}) - days{1};
    while (night_of(day).start <= now)
        day += days{1};
    return night_of(day);
}

}  // namespace nightferry::sync
