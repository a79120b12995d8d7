#include "daemon/mapping/order_doses.hpp"

#include <charconv>

#include "daemon/care/calendar.hpp"
#include "daemon/mapping/codes.hpp"

namespace nightferry::mapping {

using fhir::resource::MedicationRequest;
using fhir::resource::Quantity;

namespace {

std::optional<entry::Amount> amount_of(const Quantity& quantity) {
    const auto value = Decimal::parse(quantity.value);
    const auto unit = unit_of_ucum(quantity.code);
    if (!value || *value <= Decimal() || !unit) return std::nullopt;
    return entry::Amount{*value, *unit};
}

std::string why_unclear(const Quantity& quantity) {
    if (quantity.code.empty())
        return "the order says " + words_of(quantity) + " without a UCUM code, so the unit is not sure";
    return "the order says " + words_of(quantity) + ", in a unit that is not used here";
}

std::optional<int> number(std::string_view text) {
    int value = 0;
    const auto [end, failure] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (failure != std::errc() || end != text.data() + text.size()) return std::nullopt;
    return value;
}

}  // namespace

std::string words_of(const Quantity& quantity) {
    const std::string& unit = quantity.unit.empty() ? quantity.code : quantity.unit;
    return quantity.value + (unit.empty() ? "" : " ") + unit;
}

void read_amount(care::OrderedDose& dose, const MedicationRequest::Instruction& instruction) {
    const Quantity* low = instruction.dose_low ? &*instruction.dose_low : nullptr;
    const Quantity* high = instruction.dose_high ? &*instruction.dose_high : nullptr;
    if (instruction.dose) {
        dose.amount_words = words_of(*instruction.dose);
    } else if (low != nullptr || high != nullptr) {
        dose.amount_words = low == nullptr    ? "up to " + words_of(*high)
                            : high == nullptr ? "at least " + words_of(*low)
                                              : words_of(*low) + " to " + words_of(*high);
    }
    if (instruction.has_rate) {
        dose.amount_unclear = "the order gives a rate, as of an infusion";
    } else if (instruction.has_more_doses) {
        dose.amount_unclear = "the order gives more than one amount for a dose";
    } else if (instruction.dose) {
        dose.amount = amount_of(*instruction.dose);
        if (!dose.amount) dose.amount_unclear = why_unclear(*instruction.dose);
    } else if (low != nullptr || high != nullptr) {
        dose.least = low == nullptr ? std::nullopt : amount_of(*low);
        dose.most = high == nullptr ? std::nullopt : amount_of(*high);
        const bool is_whole = (low == nullptr || dose.least) && (high == nullptr || dose.most);
        if (is_whole) return;
        dose.least.reset();
        dose.most.reset();
        dose.amount_unclear = why_unclear(low != nullptr ? *low : *high);
    } else {
        dose.amount_unclear = "the order tells no amount in numbers";
    }
}

std::optional<entry::Amount> per_millilitre(const fhir::resource::Medication::Strength& strength) {
    const auto amount = amount_of(strength.amount);
    const auto per = amount_of(strength.per);
    if (!amount || !per || amount->unit == entry::Unit::millilitre || per->unit != entry::Unit::millilitre)
        return std::nullopt;
    const auto value = divide(amount->value, per->value, Decimal::max_fraction_digits, Rounding::half_up);
    const auto back = value ? multiply(*value, per->value) : std::nullopt;
    if (!back || *back != amount->value) return std::nullopt;
    return entry::Amount{value->trimmed(), amount->unit};
}

std::optional<Stretch> stretch_of(std::string_view date_time, const Zone& home) {
    using namespace std::chrono;
    if (date_time.find('T') != std::string_view::npos) {
        const auto written = parse_time(date_time);
        if (!written || !written->offset) return std::nullopt;
        const Instant at{written->local.time_since_epoch() - *written->offset + written->fraction};
        return Stretch{at, at};
    }
    const auto part = [&](std::size_t at, std::size_t size) {
        return date_time.size() < at + size ? std::nullopt : number(date_time.substr(at, size));
    };
    const auto y = part(0, 4);
    const auto m = part(5, 2);
    const auto d = part(8, 2);
    const bool has_form =
        date_time.size() == 4 || (date_time.size() == 7 && m) || (date_time.size() == 10 && m && d);
    if (!y || !has_form) return std::nullopt;
    const year_month first{year{*y}, month{static_cast<unsigned>(m.value_or(1))}};
    const year_month_day day{first / std::chrono::day{static_cast<unsigned>(d.value_or(1))}};
    if (!day.ok()) return std::nullopt;
    const local_days begin{day};
    const local_days end = d ? begin + days{1} : local_days{(first + (m ? months{1} : months{12})) / 1};
    return Stretch{care::start_of(home, begin), care::start_of(home, end)};
}

void read_bounds(care::OrderedDose& dose, const fhir::resource::Timing::Bounds& bounds, const Zone& home) {
    const auto start = stretch_of(bounds.start, home);
    const auto end = stretch_of(bounds.end, home);
    if (start) dose.from = start->begin;
    if (end) dose.until = end->end;
    if ((!bounds.start.empty() && !start) || (!bounds.end.empty() && !end)) {
        dose.period_unclear = "the order's dates cannot be read";
    } else if (bounds.duration) {
        dose.period_unclear =
            "the order holds for " + words_of(*bounds.duration) + ", from when it does not say";
    } else if (bounds.duration_low || bounds.duration_high) {
        dose.period_unclear = "the order gives a range for how long it holds";
    }
}

}  // namespace nightferry::mapping
