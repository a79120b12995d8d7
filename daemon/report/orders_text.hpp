// What clinics list as ordered, for people at a terminal.
#pragma once

#include <string>

#include "fhir/json/document.hpp"

namespace nightferry::report {

// Of GET /v1/orders.
std::string orders_text(const fhir::json::Value& answer);
// Of GET /v1/orders?propose=yes.
std::string proposal_text(const fhir::json::Value& answer);

}  // namespace nightferry::report
