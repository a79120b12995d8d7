#include "fhir/exchange/issue_class.hpp"

#include <algorithm>
#include <initializer_list>

namespace nightferry::fhir::exchange {

namespace {

bool is_one_of(std::string_view code, std::initializer_list<std::string_view> codes) {
    return std::find(codes.begin(), codes.end(), code) != codes.end();
}

}  // namespace

IssueClass class_of_issue_type(std::string_view code) {
    if (is_one_of(code, {"informational", "success"})) return IssueClass::note;
    if (code == "duplicate") return IssueClass::duplicate;
    if (is_one_of(code,
                  {"transient", "lock-error", "no-store", "exception", "timeout", "incomplete", "throttled"}))
        return IssueClass::transient;
    if (is_one_of(code, {"security", "login", "unknown", "expired", "forbidden", "suppressed"}))
        return IssueClass::access;
    if (is_one_of(code,
                  {"invalid", "structure", "required", "value", "invariant", "processing", "not-supported",
                   "multiple-matches", "not-found", "deleted", "too-long", "code-invalid", "extension",
                   "too-costly", "business-rule", "conflict", "limited-filter"})) {
        return IssueClass::final;
    }
    return IssueClass::unknown;
}

IssueClass class_of(const OutcomeIssue& issue) {
    if (is_one_of(issue.severity, {"warning", "information", "success"})) return IssueClass::note;
    return class_of_issue_type(issue.code);
}

IssueClass class_of(const std::vector<OutcomeIssue>& issues) {
    if (issues.empty()) return IssueClass::unknown;
    IssueClass gravest = IssueClass::note;
    for (const OutcomeIssue& issue : issues)
        gravest = std::max(gravest, class_of(issue));
    return gravest;
}

}  // namespace nightferry::fhir::exchange
