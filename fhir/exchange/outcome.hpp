// Reading what a server says went wrong.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "fhir/json/document.hpp"

namespace nightferry::fhir::exchange {

struct OutcomeIssue {
    std::string severity;  // fatal, error, warning, information
    std::string code;      // issue-type
    std::string text;      // details.text, or diagnostics, or details' first display
    std::string where;     // expression, or location
};

// The issues of an OperationOutcome; none when the value is something else.
std::vector<OutcomeIssue> outcome_issues(const json::Value& value);

// The server's own words in one line, at most `limit` bytes: from an OperationOutcome, or for another body
// the start of its text. Empty when there are none. Control characters become blanks.
std::string server_words(std::string_view body, std::size_t limit = 500);
std::string outcome_words(const json::Value& outcome, std::size_t limit = 500);

}  // namespace nightferry::fhir::exchange
