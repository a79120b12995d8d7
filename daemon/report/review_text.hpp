// What was computed, on one page: what to look at first, then figures, then the record, newest first. Times
// are the home's clock.
#pragma once

#include <string>

#include "fhir/json/document.hpp"

namespace nightferry::report {

// Of GET /v1/report.
std::string review_text(const fhir::json::Value& review);

// Of GET /v1/flags.
std::string flags_text(const fhir::json::Value& flags);

// Of GET /v1/since-dose.
std::string since_dose_text(const fhir::json::Value& since);

// Stands under everything that was computed.
std::string_view footer();

}  // namespace nightferry::report
