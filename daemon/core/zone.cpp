#include "daemon/core/zone.hpp"

#include <date/tz.h>

#include <stdexcept>

namespace nightferry {

namespace {

const date::time_zone& zone_of(const void* entry) {
    return *static_cast<const date::time_zone*>(entry);
}

Moment moment(LocalSecond local, std::chrono::seconds offset) {
    return {Instant{local.time_since_epoch() - offset}, std::chrono::floor<std::chrono::minutes>(offset)};
}

}  // namespace

Result<Zone> Zone::find(std::string_view name) {
    try {
        return Zone(std::string(name), date::locate_zone(std::string(name)));
    } catch (const std::runtime_error&) {
        return Error{Errc::setup,
                     "time zone '" + std::string(name) +
                         "' is not in the time zone data of this system; use a name like Europe/Dublin"};
    }
}

Zone::Reading Zone::read(LocalSecond local) const {
    const date::local_seconds reading{local.time_since_epoch()};
    const date::local_info info = zone_of(entry_).get_info(reading);
    switch (info.result) {
        case date::local_info::nonexistent:
            return Nonexistent{{Instant{info.first.end.time_since_epoch()},
                                std::chrono::floor<std::chrono::minutes>(info.second.offset)},
                               info.second.offset - info.first.offset};
        case date::local_info::ambiguous:
            return Ambiguous{moment(local, info.first.offset), moment(local, info.second.offset)};
        default:
            return moment(local, info.first.offset);
    }
}

Moment Zone::at(Instant instant) const {
    const date::sys_seconds second{std::chrono::floor<std::chrono::seconds>(instant).time_since_epoch()};
    const auto offset = zone_of(entry_).get_info(second).offset;
    return {instant, std::chrono::floor<std::chrono::minutes>(offset)};
}

}  // namespace nightferry
