#include "fhir/json/decimal.hpp"

#include <algorithm>
#include <charconv>
#include <cstdint>

namespace nightferry::fhir::json {

namespace {

// The number as 0.d1d2d3... times ten to the exponent, over the lexeme's own characters: no copy is made.
class Parts {
 public:
    explicit Parts(std::string_view lexeme) {
        if (lexeme.starts_with('-')) {
            negative_ = true;
            lexeme.remove_prefix(1);
        }
        const auto mark = std::min(lexeme.find_first_of("eE"), lexeme.size());
        read_exponent(lexeme.substr(mark));
        digits_ = lexeme.substr(0, mark);
        const auto point = std::min(digits_.find('.'), digits_.size());
        exponent_ += static_cast<std::int64_t>(point);
        // Leading zeros, with the point among them or not, only move the exponent.
        while (!digits_.empty() && (digits_.front() == '0' || digits_.front() == '.')) {
            if (digits_.front() == '0') --exponent_;
            digits_.remove_prefix(1);
        }
        zero_ = digits_.empty();
    }

    int sign() const { return zero_ ? 0 : negative_ ? -1 : 1; }

    std::strong_ordering compare_size(const Parts& other) const {
        if (const auto order = exponent_ <=> other.exponent_; order != 0) return order;
        std::string_view a = digits_;
        std::string_view b = other.digits_;
        while (!a.empty() || !b.empty()) {
            if (const auto order = take_digit(a) <=> take_digit(b); order != 0) return order;
        }
        return std::strong_ordering::equal;
    }

 private:
    void read_exponent(std::string_view text) {
        constexpr std::int64_t most = 1'000'000'000;
        if (text.empty()) return;
        text.remove_prefix(1);
        const bool down = text.starts_with('-');
        if (down || text.starts_with('+')) text.remove_prefix(1);
        std::int64_t value = 0;
        const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
        if (error != std::errc() || value > most) value = most;
        exponent_ = down ? -value : value;
    }

    // Behind the last digit only zeros follow.
    static char take_digit(std::string_view& digits) {
        if (digits.starts_with('.')) digits.remove_prefix(1);
        if (digits.empty()) return '0';
        const char digit = digits.front();
        digits.remove_prefix(1);
        return digit;
    }

    bool negative_ = false;
    bool zero_ = false;
    std::string_view digits_;
    std::int64_t exponent_ = 0;
};

bool is_zero(std::string_view mantissa) {
    return mantissa.find_first_of("123456789") == std::string_view::npos;
}

// One less in the last digit of a mantissa that is not zero.
void decrement(std::string& mantissa) {
    for (auto at = mantissa.rbegin(); at != mantissa.rend(); ++at) {
        if (*at == '.') continue;
        if (*at != '0') {
            --*at;
            return;
        }
        *at = '9';
    }
}

std::string boundary(std::string_view number, bool upwards) {
    bool negative = number.starts_with('-');
    if (negative) number.remove_prefix(1);
    const auto mark = std::min(number.find_first_of("eE"), number.size());
    std::string mantissa(number.substr(0, mark));
    if (is_zero(mantissa)) negative = !upwards;
    // Away from zero half a unit is another digit 5; towards it, one unit less and a digit 5.
    if (negative == upwards) decrement(mantissa);
    if (mantissa.find('.') == std::string::npos) mantissa += '.';
    return (negative ? "-" : "") + mantissa + '5' + std::string(number.substr(mark));
}

}  // namespace

std::string low_boundary(std::string_view number) {
    return boundary(number, false);
}

std::string high_boundary(std::string_view number) {
    return boundary(number, true);
}

std::strong_ordering compare_numbers(std::string_view a, std::string_view b) {
    const Parts left(a);
    const Parts right(b);
    if (const auto order = left.sign() <=> right.sign(); order != 0) return order;
    if (left.sign() == 0) return std::strong_ordering::equal;
    const auto size = left.compare_size(right);
    return left.sign() > 0 ? size : 0 <=> size;
}

}  // namespace nightferry::fhir::json
