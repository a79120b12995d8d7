// What the local API tells of phones, as text.
#pragma once

#include <string>

#include "fhir/json/document.hpp"

namespace nightferry::report {

// The code, where to type it, and how long it is good.
std::string invitation_text(const fhir::json::Value& answer);
std::string devices_text(const fhir::json::Value& answer);

}  // namespace nightferry::report
