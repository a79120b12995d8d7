// Dates and times as FHIR writes them (https://hl7.org/fhir/R4/datatypes.html#dateTime), read strictly: the
// day must exist in the calendar, hours end at 23, a second may be 60 for a leap second.
#pragma once

#include <cstdint>
#include <string_view>

namespace nightferry::fhir::check {

// The stretch of time that a date or time can mean: seconds since 1970 in UTC, or as if in UTC when the value
// has no zone.
struct Stretch {
    std::int64_t first_second = 0;
    std::int64_t last_second = 0;  // Inclusive.
    std::uint32_t first_nanosecond = 0;
    std::uint32_t last_nanosecond = 0;
    bool has_zone = false;

    // Surely after the other, whatever is left open by missing parts or zones.
    bool surely_after(const Stretch& other) const;
};

struct DateTimeForm {
    bool date_only = false;       // date: no time may follow.
    bool whole_instant = false;   // instant: all parts and the zone must be there.
    int fraction_digits_max = 0;  // 0 = any number; R5 has nine.
};

// True when `text` is such a value; `stretch`, when given, then says what it means.
bool read_date_time(std::string_view text, const DateTimeForm& form, Stretch* stretch = nullptr);

// time: "hh:mm:ss" with an optional fraction and no zone.
bool is_time(std::string_view text, int fraction_digits_max);

}  // namespace nightferry::fhir::check
