#include "daemon/care/amounts.hpp"

namespace nightferry::care {

std::optional<DoseSize> size_of(const entry::Amount& amount, const entry::Medicine& medicine) {
    if (amount.unit == entry::Unit::millilitre) {
        const auto content = multiply(amount.value, medicine.strength);
        if (!content) return std::nullopt;
        return DoseSize{amount.value.trimmed(), true, *content, medicine.strength_unit};
    }
    if (amount.unit != medicine.strength_unit) return std::nullopt;
    const auto ml = divide(amount.value, medicine.strength, Decimal::max_fraction_digits, Rounding::half_up);
    if (!ml) return std::nullopt;
    const auto back = multiply(*ml, medicine.strength);
    return DoseSize{ml->trimmed(), back && *back == amount.value, amount.value.trimmed(), amount.unit};
}

std::optional<Decimal> mark_of(const Decimal& ml, const Scale& scale) {
    if (ml > scale.capacity_ml || ml < Decimal()) return std::nullopt;
    const auto mark = divide(ml, scale.step_ml, 0, Rounding::down);
    if (!mark || volume_at(*mark, scale) != ml) return std::nullopt;
    return mark;
}

std::optional<Decimal> volume_at(const Decimal& mark, const Scale& scale) {
    return multiply(mark, scale.step_ml);
}

CapacityTolerance tolerance_iso_7886_1() {
    return {Decimal(15, 3), Decimal(2, 2), Decimal(5, 2)};
}

CapacityTolerance tolerance_iso_8537() {
    return {Decimal(1, 2), Decimal(2, 2), Decimal(5, 2)};
}

std::optional<Decimal> tolerance_ml(const CapacityTolerance& tolerance, const Decimal& capacity_ml,
                                    const Decimal& ml) {
    const auto twice = multiply(ml, Decimal(2, 0));
    if (!twice) return std::nullopt;
    if (*twice >= capacity_ml) return multiply(tolerance.of_volume_at_half, ml);
    const auto part_of_capacity = multiply(tolerance.of_capacity, capacity_ml);
    const auto part_of_volume = multiply(tolerance.of_volume, ml);
    if (!part_of_capacity || !part_of_volume) return std::nullopt;
    return add(*part_of_capacity, *part_of_volume);
}

}  // namespace nightferry::care
