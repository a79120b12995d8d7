#include "daemon/core/decimal.hpp"

#include <cassert>

namespace nightferry {

namespace {

constexpr std::int64_t power_of_ten(int exponent) {
    std::int64_t power = 1;
    while (exponent-- > 0)
        power *= 10;
    return power;
}

bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

__extension__ using Wide = __int128;

}  // namespace

Decimal::Decimal(std::int64_t coefficient, int scale) : coefficient_(coefficient), scale_(scale) {
    assert(scale >= 0 && scale <= max_fraction_digits);
}

std::optional<Decimal> Decimal::parse(std::string_view text) {
    const bool negative = text.starts_with('-');
    if (negative) text.remove_prefix(1);
    std::size_t i = 0;
    std::int64_t coefficient = 0;
    for (; i < text.size() && is_digit(text[i]); ++i) {
        if (i == max_integer_digits) return std::nullopt;
        coefficient = coefficient * 10 + (text[i] - '0');
    }
    if (i == 0 || (i > 1 && text[0] == '0')) return std::nullopt;
    int scale = 0;
    if (i < text.size()) {
        if (text[i] != '.' && text[i] != ',') return std::nullopt;
        for (++i; i < text.size() && is_digit(text[i]); ++i) {
            if (++scale > max_fraction_digits) return std::nullopt;
            coefficient = coefficient * 10 + (text[i] - '0');
        }
        if (scale == 0 || i != text.size()) return std::nullopt;
    }
    return Decimal(negative ? -coefficient : coefficient, scale);
}

std::string Decimal::to_string() const {
    const bool negative = coefficient_ < 0;
    std::string digits = std::to_string(negative ? -coefficient_ : coefficient_);
    const auto places = static_cast<std::size_t>(scale_);
    if (digits.size() <= places) digits.insert(0, places + 1 - digits.size(), '0');
    if (places > 0) digits.insert(digits.size() - places, 1, '.');
    return negative ? "-" + digits : digits;
}

Decimal Decimal::trimmed() const {
    Decimal shorter = *this;
    while (shorter.scale_ > 0 && shorter.coefficient_ % 10 == 0) {
        shorter.coefficient_ /= 10;
        --shorter.scale_;
    }
    return shorter;
}

std::strong_ordering Decimal::operator<=>(const Decimal& other) const {
    // At most 15 digits each, so bringing both to one scale stays below 10^21.
    const auto common = [](const Decimal& d) {
        return static_cast<Wide>(d.coefficient_) * power_of_ten(max_fraction_digits - d.scale_);
    };
    return common(*this) <=> common(other);
}

namespace {

constexpr Wide limit = power_of_ten(Decimal::max_integer_digits + Decimal::max_fraction_digits);

// coefficient / 10^scale as a Decimal without trailing zeros, if it is one.
std::optional<Decimal> fitting(Wide coefficient, int scale) {
    while (scale > 0 && coefficient % 10 == 0) {
        coefficient /= 10;
        --scale;
    }
    if (scale > Decimal::max_fraction_digits) return std::nullopt;
    if (coefficient / power_of_ten(scale) >= power_of_ten(Decimal::max_integer_digits) ||
        coefficient / power_of_ten(scale) <= -power_of_ten(Decimal::max_integer_digits))
        return std::nullopt;
    return Decimal(static_cast<std::int64_t>(coefficient), scale);
}

Wide in_millionths(const Decimal& d) {
    return static_cast<Wide>(d.coefficient()) * power_of_ten(Decimal::max_fraction_digits - d.scale());
}

// The whole number next to dividend / divisor; the divisor is not zero.
Wide rounded_quotient(Wide dividend, Wide divisor, Rounding rounding) {
    const bool negative = (dividend < 0) != (divisor < 0);
    const Wide size = dividend < 0 ? -dividend : dividend;
    const Wide by = divisor < 0 ? -divisor : divisor;
    Wide whole = size / by;
    const Wide twice_rest = 2 * (size % by);
    switch (rounding) {
        case Rounding::half_up:
            whole += twice_rest >= by ? 1 : 0;
            break;
        case Rounding::half_even:
            whole += twice_rest > by || (twice_rest == by && whole % 2 == 1) ? 1 : 0;
            break;
        case Rounding::up:
            whole += twice_rest > 0 ? 1 : 0;
            break;
        case Rounding::down:
            break;
    }
    return negative ? -whole : whole;
}

}  // namespace

std::optional<Decimal> add(const Decimal& a, const Decimal& b) {
    return fitting(in_millionths(a) + in_millionths(b), Decimal::max_fraction_digits);
}

std::optional<Decimal> subtract(const Decimal& a, const Decimal& b) {
    return fitting(in_millionths(a) - in_millionths(b), Decimal::max_fraction_digits);
}

std::optional<Decimal> multiply(const Decimal& a, const Decimal& b) {
    return fitting(static_cast<Wide>(a.coefficient()) * b.coefficient(), a.scale() + b.scale());
}

std::optional<Decimal> divide(const Decimal& a, const Decimal& b, int scale, Rounding rounding) {
    assert(scale >= 0 && scale <= Decimal::max_fraction_digits);
    if (b.is_zero()) return std::nullopt;
    const Wide quotient =
        rounded_quotient(in_millionths(a) * power_of_ten(scale), in_millionths(b), rounding);
    if (quotient >= limit || quotient <= -limit) return std::nullopt;
    return fitting(quotient, scale) ? std::optional(Decimal(static_cast<std::int64_t>(quotient), scale))
                                    : std::nullopt;
}

std::optional<Decimal> round_to_step(const Decimal& value, const Decimal& step, Rounding rounding) {
    assert(step > Decimal());
    const Wide unit = in_millionths(step);
    return fitting(rounded_quotient(in_millionths(value), unit, rounding) * unit,
                   Decimal::max_fraction_digits);
}

}  // namespace nightferry
