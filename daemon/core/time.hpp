// Instants, and the local times in which people live them.
//
// An Instant is UTC in microseconds. A Moment keeps beside it the offset from UTC that held where it was
// lived, so that a record from a journey still reads as the carer's clock did.
#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <string_view>

#include "daemon/core/result.hpp"

namespace nightferry {

using Instant = std::chrono::sys_time<std::chrono::microseconds>;
using LocalSecond = std::chrono::local_seconds;

struct Moment {
    Instant at;
    std::chrono::minutes offset{0};

    bool operator==(const Moment&) const = default;
};

// "2026-10-12T08:00:00+01:00": a FHIR dateTime; a fraction of a second only when there is one.
std::string to_text(const Moment& moment);
// "2026-10-12T07:00:00Z".
std::string to_text(Instant instant);
// "2026-10-12 08:00" of a local time, for messages.
std::string to_text(LocalSecond local);

// A civil date and time of day as somebody wrote it, with the offset if one was written.
struct WrittenTime {
    LocalSecond local;
    std::chrono::microseconds fraction{0};
    std::optional<std::chrono::minutes> offset;
};

// Reads "2026-10-12T08:00", with seconds, fraction (up to 6 digits), a space instead of T, and "Z" or
// "+01:00" behind it. The date must exist and the hour be 00 to 23; a leap second is not accepted. Nothing
// when the text has another form.
std::optional<WrittenTime> parse_time(std::string_view text);

// The order in which a date was written, as stated by whoever wrote it.
enum class DateForm { year_month_day, day_month_year, month_day_year };

// Reads a date whose parts are separated by "-", "." or "/" (all by the same), the year with four digits.
std::optional<std::chrono::year_month_day> parse_date(std::string_view text, DateForm form);
// "2026-10-12".
std::string to_text(std::chrono::year_month_day date);
// Reads "8:00", "08:00" or "08:00:30".
std::optional<std::chrono::seconds> parse_clock(std::string_view text);

// The Instant of text that to_text() wrote; Errc::unreadable for anything else.
Result<Moment> parse_moment(std::string_view text);

}  // namespace nightferry
