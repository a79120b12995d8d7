// The answers to FHIR that was handed in, as FHIR (https://hl7.org/fhir/R4/http.html#transaction-response):
// a batch is answered by a batch-response, a transaction that was taken by a transaction-response, everything
// else by an OperationOutcome with an issue for each entry or problem, its FHIRPath in expression.
#pragma once

#include <string_view>

#include "daemon/core/http.hpp"
#include "daemon/intake/desk.hpp"

namespace nightferry::intake {

// 200 when all is in the logbook, and for every batch; 400 when it cannot be read; 409 when all that is wrong
// is that it contradicts the logbook; else 422.
HttpAnswer fhir_answer(const Answers& answers);

// An OperationOutcome with one issue of that type (https://hl7.org/fhir/R4/valueset-issue-type.html).
HttpAnswer fhir_error(int status, std::string_view issue_type, std::string_view words);

}  // namespace nightferry::intake
