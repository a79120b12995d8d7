// What a clinic's server says is ordered, beside the regimen in the settings. It says what differs and what
// cannot be compared; which of the two is right, the clinic knows, and nobody here.
//
// Invariant: an element that could not be compared is never counted as agreement.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/care/clinic_order.hpp"
#include "daemon/care/order_check.hpp"
#include "daemon/care/regimen.hpp"
#include "daemon/entry/household.hpp"

namespace nightferry::care {

enum class OrderElement { medicine, strength, amount, times, as_needed, period, route, instructions };
enum class Agreement { agrees, differs, not_comparable };
std::string_view word_for(OrderElement element);
std::string_view word_for(Agreement agreement);

struct ElementCheck {
    OrderElement element = OrderElement::medicine;
    Agreement agreement = Agreement::not_comparable;
    std::string words;
};

// How an order, or several that are about one medicine together, stands to the regimen.
enum class Standing {
    compared,        // It is about the regimen's medicine.
    could_be,        // Words alone name that medicine.
    not_in_regimen,  // It is about a medicine that the regimen does not have now.
    unnamed,         // Nothing tells which medicine it is about.
};
std::string_view word_for(Standing standing);

struct OrderComparison {
    Standing standing = Standing::unnamed;
    std::vector<std::size_t> orders;  // Indices into OrdersRead::orders; not empty.
    std::vector<ElementCheck> elements;

    // Whether any element has this agreement; `agrees` only when every one has it.
    bool is(Agreement agreement) const;
};

// That the regimen has an order in force for which the clinic lists no active one.
struct MissingOrder {
    std::string medicine;
    Instant since;  // When the order in force began, or was last seen.
    std::string words;
};

struct OrdersCompared {
    std::vector<OrderComparison> comparisons;
    std::optional<MissingOrder> missing;
    // There is none that certainly is it, but one that could be.
    bool may_be_missing = false;
};

// As things stand at an instant. Without a regimen every order of the household's medicines is one that it
// does not have. Nothing is said before the first reading.
OrdersCompared compare_orders(const OrdersRead& read, const Regimen& regimen,
                              const entry::Household& household, const OrderLimits& limits, Instant at);

// The version of the regimen by which doses are due at an instant; null before the first, after the end.
const Order* order_in_force(const Regimen& regimen, Instant at);

}  // namespace nightferry::care
