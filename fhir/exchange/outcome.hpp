// Reading what a server says went wrong (https://hl7.org/fhir/R4/operationoutcome.html, the same in R4B and
// R5).
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "fhir/json/document.hpp"

namespace nightferry::fhir::exchange {

struct OutcomeIssue {
    std::string severity;  // fatal, error, warning, information; R5 also success
    std::string code;      // issue-type
    std::string text;      // details.text or a translation of it, or diagnostics, or details' first coding
    std::string where;     // expression, or location
};

// The issues of an OperationOutcome, at most `issues_max`, each text cut at `issue_text_bytes_max`; none when
// the value is something else.
inline constexpr std::size_t issues_max = 1'000;
inline constexpr std::size_t issue_text_bytes_max = 4'096;
std::vector<OutcomeIssue> outcome_issues(const json::Value& value);

// Whether a body is an OperationOutcome in JSON.
bool is_outcome(std::string_view body);

// The server's own words in one line, fit for a terminal, at most `limit` bytes and an ellipsis: of an
// OperationOutcome's issues, errors first; without any, of its narrative.
std::string outcome_words(const json::Value& outcome, std::size_t limit = 500);

// The same of any body that came instead of what was asked for: an OperationOutcome in JSON or XML, the usual
// JSON of other software, the title of a web page, plain text. Empty when the body holds no text.
std::string server_words(std::string_view body, std::size_t limit = 500);

}  // namespace nightferry::fhir::exchange
