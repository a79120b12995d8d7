#include "daemon/core/time.hpp"

#include <charconv>
#include <cstdio>

namespace nightferry {

namespace {

using namespace std::chrono;

// Reads exactly `digits` decimal digits off the front.
std::optional<int> take_number(std::string_view& text, std::size_t digits) {
    if (text.size() < digits) return std::nullopt;
    int value = 0;
    for (std::size_t i = 0; i < digits; ++i) {
        if (text[i] < '0' || text[i] > '9') return std::nullopt;
        value = value * 10 + (text[i] - '0');
    }
    text.remove_prefix(digits);
    return value;
}

bool take(std::string_view& text, char expected) {
    if (!text.starts_with(expected)) return false;
    text.remove_prefix(1);
    return true;
}

std::optional<year_month_day> make_date(int y, int m, int d) {
    const year_month_day date{year{y}, month{static_cast<unsigned>(m)}, day{static_cast<unsigned>(d)}};
    if (!date.ok()) return std::nullopt;
    return date;
}

std::optional<seconds> take_clock(std::string_view& text) {
    const auto hour = take_number(text, 2);
    if (!hour || *hour > 23 || !take(text, ':')) return std::nullopt;
    const auto minute = take_number(text, 2);
    if (!minute || *minute > 59) return std::nullopt;
    int second = 0;
    if (take(text, ':')) {
        const auto written = take_number(text, 2);
        if (!written || *written > 59) return std::nullopt;
        second = *written;
    }
    return hours{*hour} + minutes{*minute} + seconds{second};
}

std::optional<microseconds> take_fraction(std::string_view& text) {
    if (!take(text, '.')) return microseconds{0};
    std::int64_t micros = 0;
    int digits = 0;
    while (!text.empty() && text.front() >= '0' && text.front() <= '9') {
        if (++digits > 6) return std::nullopt;
        micros = micros * 10 + (text.front() - '0');
        text.remove_prefix(1);
    }
    if (digits == 0) return std::nullopt;
    for (; digits < 6; ++digits)
        micros *= 10;
    return microseconds{micros};
}

std::optional<minutes> take_offset(std::string_view& text) {
    if (take(text, 'Z')) return minutes{0};
    const bool west = text.starts_with('-');
    if (!west && !text.starts_with('+')) return std::nullopt;
    text.remove_prefix(1);
    const auto hour = take_number(text, 2);
    if (!hour || *hour > 14 || !take(text, ':')) return std::nullopt;
    const auto minute = take_number(text, 2);
    if (!minute || *minute > 59) return std::nullopt;
    const minutes offset = hours{*hour} + minutes{*minute};
    if (offset > hours{14}) return std::nullopt;
    return west ? -offset : offset;
}

std::string civil(LocalSecond local, char between, bool with_seconds) {
    const auto day_start = floor<days>(local);
    const year_month_day date{day_start};
    const hh_mm_ss clock{local - day_start};
    char text[48];
    const int length =
        std::snprintf(text, sizeof text, "%04d-%02u-%02u%c%02d:%02d", static_cast<int>(date.year()),
                      static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()), between,
                      static_cast<int>(clock.hours().count()), static_cast<int>(clock.minutes().count()));
    std::string result(text, static_cast<std::size_t>(length));
    if (with_seconds) {
        std::snprintf(text, sizeof text, ":%02d", static_cast<int>(clock.seconds().count()));
        result += text;
    }
    return result;
}

std::string offset_text(minutes offset) {
    const bool west = offset < minutes{0};
    const int total = static_cast<int>(west ? -offset.count() : offset.count());
    char text[16];
    std::snprintf(text, sizeof text, "%c%02d:%02d", west ? '-' : '+', total / 60, total % 60);
    return text;
}

std::string with_fraction(Instant at, minutes offset) {
    const auto second = floor<seconds>(at);
    std::string text = civil(LocalSecond{second.time_since_epoch() + offset}, 'T', true);
    if (const auto rest = at - second; rest != microseconds{0}) {
        char fraction[16];
        const auto micros = static_cast<int>(rest.count());
        if (micros % 1000 == 0) {
            std::snprintf(fraction, sizeof fraction, ".%03d", micros / 1000);
        } else {
            std::snprintf(fraction, sizeof fraction, ".%06d", micros);
        }
        text += fraction;
    }
    return text;
}

}  // namespace

std::string to_text(const Moment& moment) {
    return with_fraction(moment.at, moment.offset) + offset_text(moment.offset);
}

std::string to_text(Instant instant) {
    return with_fraction(instant, minutes{0}) + "Z";
}

std::string to_text(LocalSecond local) {
    return civil(local, ' ', (local - floor<minutes>(local)) != seconds{0});
}

std::string to_text(year_month_day date) {
    return civil(LocalSecond{local_days{date}}, ' ', false).substr(0, 10);
}

std::optional<WrittenTime> parse_time(std::string_view text) {
    const auto y = take_number(text, 4);
    if (!y || !take(text, '-')) return std::nullopt;
    const auto m = take_number(text, 2);
    if (!m || !take(text, '-')) return std::nullopt;
    const auto d = take_number(text, 2);
    if (!d || !(take(text, 'T') || take(text, ' '))) return std::nullopt;
    const auto date = make_date(*y, *m, *d);
    if (!date) return std::nullopt;
    const std::string_view clock_text = text;
    const auto clock = take_clock(text);
    if (!clock) return std::nullopt;
    // "08:00.30" could be meant either way, so a fraction needs written seconds before it.
    const bool has_seconds = clock_text.size() - text.size() > 5;
    const auto fraction = has_seconds ? take_fraction(text) : microseconds{0};
    if (!fraction) return std::nullopt;
    WrittenTime written{LocalSecond{local_days{*date}} + *clock, *fraction, std::nullopt};
    if (text.empty()) return written;
    written.offset = take_offset(text);
    if (!written.offset || !text.empty()) return std::nullopt;
    return written;
}

std::optional<year_month_day> parse_date(std::string_view text, DateForm form) {
    const std::size_t first = form == DateForm::year_month_day ? 4 : 2;
    const auto a = take_number(text, first);
    if (!a || text.empty()) return std::nullopt;
    const char between = text.front();
    if (between != '-' && between != '.' && between != '/') return std::nullopt;
    text.remove_prefix(1);
    const auto b = take_number(text, 2);
    if (!b || !take(text, between)) return std::nullopt;
    const auto c = take_number(text, form == DateForm::year_month_day ? 2 : 4);
    if (!c || !text.empty()) return std::nullopt;
    switch (form) {
        case DateForm::year_month_day:
            return make_date(*a, *b, *c);
        case DateForm::day_month_year:
            return make_date(*c, *b, *a);
        case DateForm::month_day_year:
            return make_date(*c, *a, *b);
    }
    return std::nullopt;
}

std::optional<seconds> parse_clock(std::string_view text) {
    const std::string padded =
        text.size() > 1 && text[1] == ':' ? "0" + std::string(text) : std::string(text);
    std::string_view rest = padded;
    const auto clock = take_clock(rest);
    if (!clock || !rest.empty()) return std::nullopt;
    return clock;
}

Result<Moment> parse_moment(std::string_view text) {
    const auto written = parse_time(text);
    if (!written || !written->offset) return Error{Errc::unreadable, "a stored time cannot be read"};
    return Moment{Instant{written->local.time_since_epoch() - *written->offset + written->fraction},
                  *written->offset};
}

}  // namespace nightferry
