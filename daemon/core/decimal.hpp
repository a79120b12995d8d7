// Exact decimals for amounts, sizes and weights. Binary floating point never touches a dose: 0.29 * 100
// would come out as 28.999999999999996.
//
// A Decimal remembers how many digits were written after the point, because in a record 0.40 says more than
// 0.4; comparison ignores that, text keeps it.
#pragma once

#include <compare>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace nightferry {

class Decimal {
 public:
    // At most nine digits before the point and six behind it: a microlitre in a tanker.
    static constexpr int max_integer_digits = 9;
    static constexpr int max_fraction_digits = 6;

    Decimal() = default;
    // coefficient / 10^scale; scale from 0 to max_fraction_digits.
    Decimal(std::int64_t coefficient, int scale);

    // Reads "12", "-0.5", "0.180", and with a decimal comma "0,18". No exponent, no leading "+", no bare
    // point, no thousands separators; nothing when the text is anything else or too long.
    static std::optional<Decimal> parse(std::string_view text);

    std::int64_t coefficient() const { return coefficient_; }
    int scale() const { return scale_; }
    bool is_zero() const { return coefficient_ == 0; }

    // With a point and with the digits that were written: "0.180".
    std::string to_string() const;
    // Without trailing zeros behind the point: a computed value claims no precision of its own.
    Decimal trimmed() const;

    std::strong_ordering operator<=>(const Decimal& other) const;
    bool operator==(const Decimal& other) const { return (*this <=> other) == std::strong_ordering::equal; }

 private:
    std::int64_t coefficient_ = 0;
    int scale_ = 0;
};

// The exact results, trimmed; nothing when they need more digits than a Decimal has.
std::optional<Decimal> add(const Decimal& a, const Decimal& b);
std::optional<Decimal> subtract(const Decimal& a, const Decimal& b);
std::optional<Decimal> multiply(const Decimal& a, const Decimal& b);

// What becomes of a number that lies between two steps. No way is right by itself: half_up makes 0.065 into
// 0.07 and half_even into 0.06.
enum class Rounding { half_up, half_even, up, down };  // Away from and towards zero.

// The quotient with so many digits behind the point (0 to max_fraction_digits); nothing when `b` is zero or
// the quotient needs more digits before the point than a Decimal has.
std::optional<Decimal> divide(const Decimal& a, const Decimal& b, int scale, Rounding rounding);

// The multiple of `step` (above zero) next to the value; nothing when it has too many digits.
std::optional<Decimal> round_to_step(const Decimal& value, const Decimal& step, Rounding rounding);

}  // namespace nightferry
