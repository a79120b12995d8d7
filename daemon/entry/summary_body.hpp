// The part of a stored entry that says what a summary says. Used by body.cpp.
#pragma once

#include <optional>

#include "daemon/entry/entry.hpp"
#include "fhir/json/document.hpp"

namespace nightferry::entry {

void put_summary(fhir::json::Value& into, const Summary& summary);

// Nothing when a part is missing or has another form.
std::optional<Summary> read_summary(const fhir::json::Value& object);

}  // namespace nightferry::entry
