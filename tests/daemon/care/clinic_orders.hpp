// Made-up orders of a clinic, for tests of what they are compared with.
#pragma once

#include <vector>

#include "daemon/care/clinic_order.hpp"
#include "tests/daemon/care/fortnight.hpp"

namespace nightferry::test {

inline care::OrderedDose ordered_dose(std::string_view mg, std::vector<std::chrono::minutes> clocks) {
    care::OrderedDose dose;
    dose.amount_words = std::string(mg) + " mg";
    dose.amount = entry::Amount{*Decimal::parse(mg), entry::Unit::milligram};
    dose.times_words = "at set times";
    dose.clocks = std::move(clocks);
    return dose;
}

// So many mg of enoxaparin at 8 and 20 o'clock; by code.
inline care::ClinicOrder clinic_order(std::string_view mg = "20", const std::string& id = "o1") {
    care::ClinicOrder order;
    order.id = id;
    order.status = "active";
    order.seen = instant("2026-10-20T02:00Z");
    order.recognition = care::Recognition::by_code;
    order.medicines = {"enoxaparin-100"};
    order.medicine_words = "enoxaparin";
    order.strength = entry::Amount{Decimal(100, 0), entry::Unit::milligram};
    order.strength_words = "100 mg in 1 mL";
    order.doses = {ordered_dose(mg, {std::chrono::hours{8}, std::chrono::hours{20}})};
    return order;
}

inline care::OrdersRead orders_read(std::vector<care::ClinicOrder> orders) {
    care::OrdersRead read;
    read.clinic = "north";
    read.first_read = instant("2026-10-20T02:00Z");
    read.last_read = instant("2026-11-20T02:00Z");
    read.orders = std::move(orders);
    return read;
}

}  // namespace nightferry::test
