// The canonical text of a submission: what the logbook stores, and what decides whether two submissions say
// the same. It uses the field names of the entry format, so a stored body can be handed in again.
#pragma once

#include <string>
#include <string_view>

#include "daemon/core/result.hpp"
#include "daemon/entry/entry.hpp"
#include "fhir/json/document.hpp"

namespace nightferry::entry {

// Adds the submission's fields to an object. Amounts keep the digits that were written, times their offset.
void put_fields(fhir::json::Value& into, const Submission& submission);

std::string to_body(const Submission& submission);

// The same text for every way of writing the same thing: trailing zeros and the offset of a time do not
// count (a spreadsheet saves 0.20 as 0.2). Two submissions say the same exactly when this is equal.
std::string essence(const Submission& submission);

// Reads what to_body() wrote, without a household: what was accepted once stays readable after the settings
// changed. Errc::unreadable when it is anything else.
Result<Submission> from_body(std::string_view body);

}  // namespace nightferry::entry
