// What clinics list as ordered, and how it compares, as JSON. config/report-format.md documents it.
#pragma once

#include "daemon/care/order_comparison.hpp"
#include "fhir/json/document.hpp"

namespace nightferry::care {

void put_orders(fhir::json::Value& into, const OrdersRead& read, const OrdersCompared& compared);

}  // namespace nightferry::care
