#include <algorithm>
#include <array>
#include <set>

#include "daemon/core/words.hpp"
#include "daemon/mapping/order_doses.hpp"

namespace nightferry::mapping {

using fhir::resource::Timing;

namespace {

using std::chrono::minutes;

constexpr std::string_view abbreviations = "http://terminology.hl7.org/CodeSystem/v3-GTSAbbreviation";
constexpr int minutes_a_day = 24 * 60;

// HL7 v3 GTSAbbreviation, as the R4 package has it; all "at institution specified times", so without clock
// times.
struct Abbreviation {
    std::string_view code;
    int a_day;  // 0: not every day.
};
constexpr std::array known_abbreviations{
    Abbreviation{"QD", 1},  Abbreviation{"BID", 2}, Abbreviation{"TID", 3}, Abbreviation{"QID", 4},
    Abbreviation{"AM", 1},  Abbreviation{"PM", 1},  Abbreviation{"BED", 1}, Abbreviation{"Q8H", 3},
    Abbreviation{"Q6H", 4}, Abbreviation{"Q4H", 6}, Abbreviation{"QOD", 0}, Abbreviation{"WK", 0},
    Abbreviation{"MO", 0},
};

std::string joined(const std::vector<std::string>& parts) {
    const std::vector<std::string_view> views(parts.begin(), parts.end());
    return all_of(views);
}

std::optional<Decimal> positive(const std::string& text, int otherwise) {
    if (text.empty()) return Decimal(otherwise, 0);
    const auto value = Decimal::parse(text);
    return value && *value > Decimal() ? value : std::nullopt;
}

std::optional<int> whole(const std::optional<Decimal>& value) {
    if (!value || value->trimmed().scale() > 0 || *value > Decimal(minutes_a_day, 0)) return std::nullopt;
    return static_cast<int>(value->trimmed().coefficient());
}

std::string range_words(const std::string& least, const std::string& most) {
    return most.empty() ? least : least + " to " + most;
}

// "2 times every 1 d", "every 12 h"
std::string period_words(const Timing& timing) {
    const std::string often = range_words(timing.frequency, timing.frequency_max);
    const std::string times = often.empty() || often == "1" ? "" : often + " times ";
    return times + "every " + range_words(timing.period, timing.period_max) + " " + timing.period_unit;
}

std::string words_of(const Timing& timing) {
    std::vector<std::string> parts;
    if (!timing.period.empty()) parts.push_back(period_words(timing));
    if (timing.period.empty() && !timing.frequency.empty())
        parts.push_back(range_words(timing.frequency, timing.frequency_max) + " times");
    if (!timing.time_of_day.empty()) parts.push_back("at " + joined(timing.time_of_day));
    if (!timing.day_of_week.empty()) parts.push_back("on " + joined(timing.day_of_week));
    if (!timing.when.empty()) parts.push_back(joined(timing.when));
    if (!timing.event.empty())
        parts.push_back("on " + counted(timing.event.size(), "single date", "single dates"));
    for (const auto& coding : timing.code.coding)
        if (parts.empty()) parts.push_back(coding.code);
    if (parts.empty() && !timing.code.text.empty()) parts.push_back(in_quotes(timing.code.text));
    std::string words;
    for (const std::string& part : parts)
        words += (words.empty() ? "" : ", ") + part;
    return words;
}

int minutes_of(std::string_view period_unit) {
    if (period_unit == "min") return 1;
    if (period_unit == "h") return 60;
    return period_unit == "d" ? minutes_a_day : 0;
}

int least_days_of(std::string_view period_unit) {
    if (period_unit == "d") return 1;
    if (period_unit == "wk") return 7;
    if (period_unit == "mo") return 28;
    return period_unit == "a" ? 365 : 0;
}

void read_period(care::OrderedDose& dose, const Timing& timing) {
    const auto frequency = whole(positive(timing.frequency, 1));
    const auto period = positive(timing.period, 1);
    const std::string& unit = timing.period_unit;
    const auto days = period ? multiply(*period, Decimal(least_days_of(unit), 0)) : std::nullopt;
    const int length = period ? whole(multiply(*period, Decimal(minutes_of(unit), 0))).value_or(0) : 0;
    const bool fills_the_day = length > 0 && minutes_a_day % length == 0;
    const bool is_rarer = frequency && days && *days > Decimal(*frequency, 0);
    const bool wanders = frequency && *frequency == 1 && length > 0 && !fills_the_day;
    if (is_rarer || wanders) {
        dose.is_not_daily = true;
    } else if (!frequency || !fills_the_day) {
        dose.times_unclear = "the order says " + dose.times_words + ", which gives no number of doses a day";
    } else {
        dose.a_day = *frequency * (minutes_a_day / length);
        if (*frequency == 1 && length < minutes_a_day) dose.apart = minutes{length};
    }
}

void read_clocks(care::OrderedDose& dose, const Timing& timing) {
    for (const std::string& text : timing.time_of_day) {
        const auto clock = parse_clock(text);
        if (!clock || *clock % minutes{1} != std::chrono::seconds{0}) {
            dose.times_unclear = "the order's times of day cannot be read";
            dose.clocks.clear();
            return;
        }
        dose.clocks.push_back(std::chrono::floor<minutes>(*clock));
    }
    std::ranges::sort(dose.clocks);
    const auto often = whole(positive(timing.frequency, static_cast<int>(dose.clocks.size())));
    const bool is_a_day =
        timing.period.empty() || (timing.period_unit == "d" && positive(timing.period, 1) == Decimal(1, 0));
    const bool is_clear = is_a_day && often && static_cast<std::size_t>(*often) == dose.clocks.size() &&
                          std::ranges::adjacent_find(dose.clocks) == dose.clocks.end();
    if (is_clear) return;
    dose.clocks.clear();
    dose.times_unclear = "the order says " + dose.times_words + ", and the two do not fit each other";
}

void read_code(care::OrderedDose& dose, const Timing& timing) {
    for (const auto& coding : timing.code.coding) {
        const auto found = std::ranges::find(known_abbreviations, coding.code, &Abbreviation::code);
        if (coding.system != abbreviations || found == known_abbreviations.end()) continue;
        dose.is_not_daily = found->a_day == 0;
        if (found->a_day > 0) dose.a_day = found->a_day;
        return;
    }
    dose.times_unclear = dose.times_words.empty()
                             ? "the order tells no times"
                             : "the order says " + dose.times_words + ", which is not known here";
}

}  // namespace

void read_times(care::OrderedDose& dose, const Timing& timing) {
    dose.times_words = words_of(timing);
    const std::set<std::string> days(timing.day_of_week.begin(), timing.day_of_week.end());
    if (!timing.event.empty()) {
        dose.times_unclear = "the order lists single dates, which nobody here compares";
    } else if (!timing.frequency_max.empty() || !timing.period_max.empty()) {
        dose.times_unclear = "the order says " + dose.times_words + ", and leaves open which of it";
    } else if (!timing.when.empty()) {
        dose.times_unclear = "the order says " + dose.times_words + ", which are no clock times";
    } else if (!days.empty() && days.size() < 7) {
        dose.is_not_daily = true;
    } else if (!timing.time_of_day.empty()) {
        read_clocks(dose, timing);
    } else if (!timing.period.empty()) {
        read_period(dose, timing);
    } else if (!timing.frequency.empty()) {
        dose.times_unclear = "the order says " + dose.times_words + ", in which time it does not say";
    } else {
        read_code(dose, timing);
    }
}

}  // namespace nightferry::mapping
