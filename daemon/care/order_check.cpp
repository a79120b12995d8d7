#include "daemon/care/order_check.hpp"

namespace nightferry::care {

namespace {

// a >= factor * b, exactly.
bool reaches(const Decimal& a, const Decimal& factor, const Decimal& b) {
    const auto product = multiply(factor, b);
    return product && a >= *product;
}

bool is_tenfold(const Decimal& larger, const Decimal& smaller, const OrderLimits& limits) {
    const auto most = multiply(limits.tenfold_to, smaller);
    return reaches(larger, limits.tenfold_from, smaller) && most && larger <= *most;
}

// The difference is compared as content, since a volume computed from a content may be rounded.
bool is_match(const Decimal& given, const Decimal& ordered, const entry::Medicine& medicine,
              const OrderLimits& limits) {
    const auto difference = given > ordered ? subtract(given, ordered) : subtract(ordered, given);
    const auto limit = multiply(limits.match_ml, medicine.strength);
    return difference && limit && *difference < *limit;
}

AmountVerdict verdict_on(const Decimal& given, const Decimal& ordered, const entry::Medicine& medicine,
                         const OrderLimits& limits) {
    if (is_match(given, ordered, medicine, limits)) return AmountVerdict::match;
    const bool more = given > ordered;
    const Decimal& larger = more ? given : ordered;
    const Decimal& smaller = more ? ordered : given;
    if (is_tenfold(larger, smaller, limits)) return AmountVerdict::possible_tenfold;
    return reaches(larger, limits.large_factor, smaller) ? AmountVerdict::large : AmountVerdict::deviates;
}

}  // namespace

AmountCheck compare_amounts(const entry::Amount& given, const entry::Amount& ordered,
                            const entry::Medicine& medicine, const OrderLimits& limits) {
    const auto given_size = size_of(given, medicine);
    const auto ordered_size = size_of(ordered, medicine);
    if (!given_size || !ordered_size) return {};
    AmountCheck check{verdict_on(given_size->content, ordered_size->content, medicine, limits),
                      given_size->content, ordered_size->content, std::nullopt};
    if (const auto hundredfold = multiply(check.given, Decimal(100, 0)))
        check.percent = divide(*hundredfold, check.ordered, 1, Rounding::half_up);
    return check;
}

}  // namespace nightferry::care
