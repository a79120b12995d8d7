// The doses of orders that are about the regimen's medicine, element by element beside the regimen. Used by
// compare_orders().
#pragma once

#include <optional>
#include <vector>

#include "daemon/care/order_comparison.hpp"

namespace nightferry::care {

// What they are compared with.
struct ComparedWith {
    const Order& version;
    const entry::Medicine& medicine;
    std::optional<Instant> end;  // Of the regimen.
    const Zone& home;
    const OrderLimits& limits;
    Instant at;
};

// When an order is looked at: now, or when it begins if that is later.
Instant reference_time(const ClinicOrder& order, Instant at);

// Adds a check of every element but the medicine itself.
void compare_doses(std::vector<ElementCheck>& checks, const std::vector<const ClinicOrder*>& orders,
                   const ComparedWith& with);

}  // namespace nightferry::care
