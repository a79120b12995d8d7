// What the local API answered, as lines for a person at a terminal.
#pragma once

#include <string>

#include "fhir/json/document.hpp"

namespace nightferry::report {

// What became of each entry handed in.
std::string answers_text(const fhir::json::Value& answers);

// The same for one entry recorded at the terminal, with its id.
std::string recorded_text(const fhir::json::Value& answers);

// A list of entries, one line each, with what each clinic has of it.
std::string entries_text(const fhir::json::Value& entries);

// One entry with its revisions, deliveries and receipts.
std::string entry_text(const fhir::json::Value& entry);

// For each clinic, in sentences: what it has, what waits and why, what is set aside.
std::string queue_text(const fhir::json::Value& queue);

// Entries that wait or are set aside, with the words why.
std::string deliveries_text(const fhir::json::Value& entries, bool set_aside);

}  // namespace nightferry::report
