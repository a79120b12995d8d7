#include "fhir/check/date_times.hpp"

#include <algorithm>
#include <array>
#include <chrono>
#include <optional>

namespace nightferry::fhir::check {

namespace {

using std::chrono::day;
using std::chrono::month;
using std::chrono::sys_days;
using std::chrono::year;
using std::chrono::year_month_day;
using std::chrono::year_month_day_last;

constexpr std::int64_t day_seconds = 86'400;
constexpr std::uint32_t last_nanosecond = 999'999'999;

// Eats the text from the left.
class Cursor {
 public:
    explicit Cursor(std::string_view text) : rest_(text) {}

    bool done() const { return rest_.empty(); }
    bool take(char c) {
        if (rest_.empty() || rest_.front() != c) return false;
        rest_.remove_prefix(1);
        return true;
    }
    // Exactly so many digits.
    std::optional<int> number(std::size_t digits) {
        if (rest_.size() < digits) return std::nullopt;
        int value = 0;
        for (std::size_t i = 0; i < digits; ++i) {
            const auto digit = static_cast<unsigned>(rest_[i] - '0');
            if (digit > 9) return std::nullopt;
            value = value * 10 + static_cast<int>(digit);
        }
        rest_.remove_prefix(digits);
        return value;
    }
    std::string_view digits() {
        const auto end = std::min(rest_.find_first_not_of("0123456789"), rest_.size());
        const std::string_view found = rest_.substr(0, end);
        rest_.remove_prefix(end);
        return found;
    }

 private:
    std::string_view rest_;
};

struct TimeOfDay {
    std::int64_t second = 0;
    std::uint32_t nanosecond = 0;
    bool leap = false;
};

std::optional<TimeOfDay> take_time(Cursor& cursor, int fraction_digits_max) {
    const auto hour = cursor.number(2);
    if (!hour || *hour > 23 || !cursor.take(':')) return std::nullopt;
    const auto minute = cursor.number(2);
    if (!minute || *minute > 59 || !cursor.take(':')) return std::nullopt;
    const auto second = cursor.number(2);
    if (!second || *second > 60) return std::nullopt;
    TimeOfDay time{(*hour * 60 + *minute) * 60 + *second, 0, *second == 60};
    if (!cursor.take('.')) return time;
    const std::string_view fraction = cursor.digits();
    const auto length = static_cast<int>(std::min<std::size_t>(fraction.size(), 1 << 20));
    if (length == 0 || (fraction_digits_max > 0 && length > fraction_digits_max)) return std::nullopt;
    for (std::size_t i = 0; i < 9; ++i) {
        const int digit = i < fraction.size() ? fraction[i] - '0' : 0;
        time.nanosecond = time.nanosecond * 10 + static_cast<std::uint32_t>(digit);
    }
    return time;
}

// Seconds to subtract to come to UTC.
std::optional<std::int64_t> take_zone(Cursor& cursor) {
    if (cursor.take('Z')) return 0;
    const bool east = cursor.take('+');
    if (!east && !cursor.take('-')) return std::nullopt;
    const auto hours = cursor.number(2);
    if (!hours || !cursor.take(':')) return std::nullopt;
    const auto minutes = cursor.number(2);
    if (!minutes || *minutes > 59 || *hours > 14 || (*hours == 14 && *minutes > 0)) return std::nullopt;
    const std::int64_t seconds = (*hours * 60 + *minutes) * 60;
    return east ? seconds : -seconds;
}

std::int64_t seconds_of(sys_days days) {
    return days.time_since_epoch().count() * day_seconds;
}

// The days that the date's parts leave open; nothing when it is no date.
std::optional<Stretch> take_date(Cursor& cursor, bool* has_day) {
    *has_day = false;
    const auto y = cursor.number(4);
    if (!y || *y == 0) return std::nullopt;
    const auto whole = [](sys_days first, sys_days last) {
        return Stretch{seconds_of(first), seconds_of(last) + day_seconds - 1, 0, last_nanosecond, false};
    };
    if (!cursor.take('-')) return whole(year{*y} / 1 / 1, year{*y} / 12 / 31);
    const auto m = cursor.number(2);
    if (!m || *m < 1 || *m > 12) return std::nullopt;
    const auto in_month = year{*y} / month{static_cast<unsigned>(*m)};
    if (!cursor.take('-')) return whole(in_month / 1, in_month / std::chrono::last);
    const auto d = cursor.number(2);
    if (!d) return std::nullopt;
    const year_month_day date = in_month / day{static_cast<unsigned>(*d)};
    if (!date.ok()) return std::nullopt;
    *has_day = true;
    return whole(date, date);
}

}  // namespace

bool Stretch::surely_after(const Stretch& other) const {
    // Two values without a zone are taken to come from one place; with only one zone known the other may lie
    // as far away as zones go.
    const std::int64_t doubt = has_zone == other.has_zone ? 0 : 14 * 3600;
    const std::int64_t begin = first_second - doubt;
    return begin > other.last_second ||
           (begin == other.last_second && first_nanosecond > other.last_nanosecond);
}

bool read_date_time(std::string_view text, const DateTimeForm& form, Stretch* stretch) {
    Cursor cursor(text);
    bool has_day = false;
    auto found = take_date(cursor, &has_day);
    if (!found) return false;
    if (cursor.done()) {
        if (stretch != nullptr) *stretch = *found;
        return !form.whole_instant;
    }
    if (form.date_only || !has_day || !cursor.take('T')) return false;
    const auto time = take_time(cursor, form.fraction_digits_max);
    if (!time) return false;
    const auto zone = take_zone(cursor);
    if (!zone || !cursor.done()) return false;
    if (stretch != nullptr) {
        const std::int64_t second = found->first_second + time->second - *zone;
        // A time without a fraction means that second as a whole.
        const bool exact = text.find('.') != std::string_view::npos;
        *stretch = {second, second, time->nanosecond, exact ? time->nanosecond : last_nanosecond, true};
        // A leap second comes before the next minute, and counts as the very end of the one before.
        if (time->leap) *stretch = {second - 1, second - 1, last_nanosecond, last_nanosecond, true};
    }
    return true;
}

bool is_time(std::string_view text, int fraction_digits_max) {
    Cursor cursor(text);
    return take_time(cursor, fraction_digits_max).has_value() && cursor.done();
}

}  // namespace nightferry::fhir::check
