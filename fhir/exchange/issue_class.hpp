// What an issue means for the one who sent the request, by the published hierarchy of issue types
// (https://hl7.org/fhir/R4/codesystem-issue-type.html, https://hl7.org/fhir/R5/codesystem-issue-type.html).
#pragma once

#include <cstdint>
#include <string_view>
#include <vector>

#include "fhir/exchange/outcome.hpp"

namespace nightferry::fhir::exchange {

// From the mildest to the gravest.
enum class IssueClass : std::uint8_t {
    note,       // No error: a warning, a hint, a success.
    duplicate,  // The server has such a record already; after a repetition that is good news.
    transient,  // May go away by itself; the same request may be sent again later.
    unknown,    // No type that is known here.
    access,     // Nothing will get through until somebody signs in or is given the right.
    final,      // Will not be taken as it is, however often it is sent.
};

// By the code's place in the hierarchy alone, so that a parent stands for what is below it.
IssueClass class_of_issue_type(std::string_view code);

// An issue that is no error is a note, whatever its type says.
IssueClass class_of(const OutcomeIssue& issue);
// The gravest of them; `unknown` when there are none.
IssueClass class_of(const std::vector<OutcomeIssue>& issues);

}  // namespace nightferry::fhir::exchange
