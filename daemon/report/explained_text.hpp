// One entry's whole way, in sentences.
#pragma once

#include <string>

#include "fhir/json/document.hpp"

namespace nightferry::report {

// `told`: {"entry": as the local API shows it, "rows": its rows of the audit trail}.
std::string explained_text(const fhir::json::Value& told);

}  // namespace nightferry::report
