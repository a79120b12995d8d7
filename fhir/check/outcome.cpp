#include "fhir/check/outcome.hpp"

#include <string>

#include "fhir/json/reader.hpp"

namespace nightferry::fhir::check {

namespace {

json::Value& start(json::Value& into) {
    into.add_string("resourceType", "OperationOutcome");
    return into.add_array("issue");
}

void put_issue(json::Value& issue, std::string_view severity, std::string_view code, std::string_view rule,
               std::string_view text) {
    issue.add_string("severity", severity);
    issue.add_string("code", code);
    json::Value& details = issue.add_object("details");
    if (!rule.empty()) {
        json::Value& coding = details.add_array("coding").push_object();
        coding.add_string("system", rule_system);
        coding.add_string("code", rule);
    }
    details.add_string("text", text);
}

std::string place_of(const Issue& issue, const Source& source, json::Positions& positions) {
    std::string place(source.name);
    if (!source.text.empty()) {
        const json::Position at = positions.at(issue.offset);
        place += ':' + std::to_string(source.first_line + at.line - 1) + ':' + std::to_string(at.column);
    }
    if (!issue.pointer.empty()) place += (place.empty() ? "" : " ") + issue.pointer;
    return place;
}

}  // namespace

void put_outcome(json::Value& into, const Report& report, const Source& source) {
    json::Value& issues = start(into);
    json::Positions positions(source.text);
    for (const Issue& issue : report.issues) {
        json::Value& one = issues.push_object();
        put_issue(one, word_for(issue.rule.severity), issue.rule.issue_type, issue.rule.key, issue.text);
        const std::string place = place_of(issue, source, positions);
        if (!place.empty()) one.add_string("diagnostics", place);
        one.add_array("expression").push_string(issue.expression);
    }
    if (report.cut_short)
        put_issue(issues.push_object(), "warning", "incomplete", {}, "there are more issues than are listed");
    if (report.issues.empty()) {
        json::Value& one = issues.push_object();
        put_issue(one, "information", "informational", {}, "no issues were found");
        if (!source.name.empty()) one.add_string("diagnostics", source.name);
    }
}

void put_outcome(json::Value& into, std::string_view reason, std::string_view where) {
    json::Value& one = start(into).push_object();
    put_issue(one, "fatal", "structure", {}, reason);
    if (!where.empty()) one.add_string("diagnostics", where);
}

}  // namespace nightferry::fhir::check
