// Holds a resource against the published definitions of its release: the element tables of fhir/spec and
// the rules of fhir/check/rules.hpp. Knows nothing of profiles, and asks nobody: a reference is judged by
// what it says, a code by the value sets that the release publishes completely.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "fhir/check/rules.hpp"
#include "fhir/json/document.hpp"
#include "fhir/spec/release.hpp"

namespace nightferry::fhir::check {

struct Issue {
    Rule rule;
    // Where, as FHIRPath of element names and indexes, as OperationOutcome.issue.expression wants it:
    // "Bundle.entry[0].resource.dosage.dose". A choice element has its plain name ("Observation.value"). For
    // a missing element it is the element that lacks it with the missing name behind it. An unknown member
    // is named when its name could be one of an element; otherwise expression and pointer end at the object
    // that has it, and only the offset leads to it.
    std::string expression;
    std::string pointer;     // Where, as JSON pointer (RFC 6901) to the value that is there.
    std::size_t offset = 0;  // Byte offset of that value in the text it was read from.
    std::string text;  // What is wrong and what is expected, in a sentence; never content of the resource.
};

struct Report {
    std::vector<Issue> issues;  // In document order (by offset), errors and warnings mixed.
    bool cut_short = false;     // There are more errors, or more warnings, than Options::issues_max.

    bool valid() const;  // No errors, and none further on either; warnings do not count.
};

struct Options {
    std::size_t issues_max = 100;  // Of errors, and of warnings, that are kept; at least one.
    bool warnings = true;
};

// `resource` is any resource, also a Bundle, as it was read (or built): resourceType may stand anywhere.
Report validate(const json::Value& resource, spec::Release release, const Options& options = {});

}  // namespace nightferry::fhir::check
