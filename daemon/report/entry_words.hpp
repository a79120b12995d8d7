// An entry of an answer in a few words. Used inside this room only.
#pragma once

#include <string>
#include <vector>

#include "fhir/json/document.hpp"

namespace nightferry::report {

// "dose 0.20 mL enoxaparin-100", "bruise 2.0 cm".
std::string what_text(const fhir::json::Value& entry);

// "2026-10-12 08:00 +01:00" of "2026-10-12T08:00:00+01:00".
std::string time_text(const std::string& written);

// "by marlow", and "by the hub" where the hub made it itself.
std::string by_words(const std::string& carer);

// Time, person, what, site and carer.
std::vector<std::string> entry_cells(const fhir::json::Value& entry);

}  // namespace nightferry::report
