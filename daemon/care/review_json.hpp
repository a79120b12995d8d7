// The one JSON form of a review; config/report-format.md documents it. Instants are texts in UTC, stretches
// of time are whole minutes, rounded down, decimals keep their digits, and what cannot be calculated is left
// out with its n and N there to say why.
#pragma once

#include "daemon/care/flag_history.hpp"
#include "daemon/care/review.hpp"
#include "fhir/json/document.hpp"

namespace nightferry::care {

void put_review(fhir::json::Value& into, const Review& review, const entry::Household& household);
void put_since_dose(fhir::json::Value& into, const SinceDose& since,
                    const std::optional<SampleWindow>& window);
// A flag as it arises, with the text that goes with its level.
void put_flag(fhir::json::Value& into, const Flag& flag, const FlagRules& rules);
void put_flag_event(fhir::json::Value& into, const FlagEvent& event);

}  // namespace nightferry::care
