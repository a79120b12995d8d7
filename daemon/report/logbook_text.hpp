// What was found of the logbook as a whole, for a person at a terminal.
#pragma once

#include <string>

#include "fhir/json/document.hpp"

namespace nightferry::report {

// Whether a logbook or backup is whole, and how much is in it.
std::string checkup_text(const fhir::json::Value& checkup);

// What follows from putting a backup in the logbook's place. `aside`: where the one that was there lies, or
// empty.
std::string restored_text(const std::string& aside, const std::string& identifier_system);

// What there is of a person, before it is erased.
std::string traces_text(const fhir::json::Value& traces);

// What was erased, and what was not. `inbox`: the folder.
std::string erased_text(const fhir::json::Value& traces, const std::string& inbox);

}  // namespace nightferry::report
