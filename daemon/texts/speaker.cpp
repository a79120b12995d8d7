#include "daemon/texts/speaker.hpp"

#include <algorithm>
#include <array>
#include <cassert>

namespace nightferry::texts {

namespace {

struct Manners {
    std::string_view tag;
    char divides_decimals;
    std::array<std::string_view, 12> months;  // Empty where dates are written in digits.
    std::array<std::string_view, 7> weekdays;
};

// Abbreviations and forms of dates as the Unicode CLDR gives them for these languages.
constexpr std::array manners{
    Manners{"en",
            '.',
            {"Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"},
            {"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"}},
    Manners{"de", ',', {}, {"So", "Mo", "Di", "Mi", "Do", "Fr", "Sa"}},
};

const Manners& of(Language language) {
    return manners[static_cast<std::size_t>(language)];
}

std::string two_digits(unsigned number) {
    return (number < 10 ? "0" : "") + std::to_string(number);
}

}  // namespace

std::optional<Language> language_tagged(std::string_view tag) {
    const auto found = std::ranges::find(manners, tag, &Manners::tag);
    if (found == manners.end()) return std::nullopt;
    return static_cast<Language>(found - manners.begin());
}

std::string_view tag_of(Language language) {
    return of(language).tag;
}

std::string Speaker::number(std::string_view decimal) const {
    std::string text(decimal);
    std::ranges::replace(text, '.', of(language_).divides_decimals);
    return text;
}

std::string Speaker::date(std::chrono::year_month_day day) const {
    const bool in_digits = of(language_).months[0].empty();
    return day_and_month(day) + (in_digits ? "" : " ") + std::to_string(static_cast<int>(day.year()));
}

std::string Speaker::day_and_month(std::chrono::year_month_day day) const {
    const unsigned month = static_cast<unsigned>(day.month());
    const unsigned of_month = static_cast<unsigned>(day.day());
    const std::string_view name = of(language_).months[month - 1];
    if (name.empty()) return two_digits(of_month) + "." + two_digits(month) + ".";
    return std::to_string(of_month) + " " + std::string(name);
}

std::string Speaker::time_of_day(std::chrono::minutes clock) const {
    const auto minutes = static_cast<unsigned>(clock.count());
    return two_digits(minutes / 60) + ":" + two_digits(minutes % 60);
}

std::string Speaker::weekday(std::chrono::weekday day) const {
    return std::string(of(language_).weekdays[day.c_encoding()]);
}

// Both languages have one form for one thing and another for any other number (CLDR: one, other).
std::string_view Speaker::form_for(std::int64_t number, std::string_view forms) const {
    const auto bar = forms.find('|');
    if (bar == std::string_view::npos) return forms;
    return number == 1 ? forms.substr(0, bar) : forms.substr(bar + 1);
}

std::string Speaker::filled(std::string_view wording, Told told, const std::string& number) {
    std::string text;
    for (std::size_t at = 0; at < wording.size(); ++at) {
        const bool is_place = wording[at] == '{' && at + 2 < wording.size() && wording[at + 2] == '}';
        if (!is_place) {
            text += wording[at];
            continue;
        }
        const char name = wording[at + 1];
        const auto place = static_cast<std::size_t>(name - '1');
        assert(name == 'n' || place < told.size());
        text += name == 'n' ? std::string_view(number) : *(told.begin() + static_cast<std::ptrdiff_t>(place));
        at += 2;
    }
    return text;
}

}  // namespace nightferry::texts
