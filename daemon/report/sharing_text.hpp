// What leaves the home, what has left it, and the audit trail, as lines for a person at a terminal.
#pragma once

#include <string>

#include "fhir/json/document.hpp"

namespace nightferry::report {

// For each clinic what it may have and, entry by entry, what would leave with the next pass.
std::string sharing_text(const fhir::json::Value& answer);

// What clinics have that is not shared any more, with the references by which they find it.
std::string withdrawn_text(const fhir::json::Value& answer);

// Rows of the audit trail, and whether its chain holds.
std::string audit_text(const fhir::json::Value& trail);

}  // namespace nightferry::report
