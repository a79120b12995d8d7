// What clinics list as ordered, read from the logbook's shelf in the household's terms.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "daemon/care/clinic_order.hpp"
#include "daemon/core/result.hpp"
#include "daemon/entry/household.hpp"
#include "daemon/logbook/order_shelf.hpp"

namespace nightferry::upkeep {

class OrderBook {
 public:
    // `clinics_for` names the clinics that are asked for the orders of a person; what others listed once is
    // left out.
    OrderBook(const entry::Household& household, logbook::OrderShelf& shelf,
              std::function<std::vector<std::string>(const std::string& person)> clinics_for)
        : household_(household), shelf_(shelf), clinics_for_(std::move(clinics_for)) {}

    // As it was known at an instant, one for each clinic.
    Result<std::vector<care::OrdersRead>> read(const std::string& person, Instant known_at);

    std::int64_t changes() const { return shelf_.changes(); }

 private:
    const entry::Household& household_;
    logbook::OrderShelf& shelf_;
    std::function<std::vector<std::string>(const std::string&)> clinics_for_;
};

}  // namespace nightferry::upkeep
