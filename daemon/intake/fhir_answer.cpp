#include "daemon/intake/fhir_answer.hpp"

#include "fhir/exchange/media_type.hpp"
#include "fhir/json/writer.hpp"

namespace nightferry::intake {

namespace json = fhir::json;
using Kind = Answer::Kind;

namespace {

HttpAnswer as_fhir(int status, fhir::spec::Release release, const json::Document& document) {
    return {status,
            {{"Content-Type", fhir::exchange::fhir_json(release)}, {"Cache-Control", "no-store"}},
            json::write(document.root()) + "\n"};
}

json::Value& start_outcome(json::Value& into) {
    into.add_string("resourceType", "OperationOutcome");
    return into.add_array("issue");
}

// A place in the text ("line 3, column 4") is no FHIRPath and goes where programs do not look for one.
void put_issue(json::Value& issues, std::string_view severity, std::string_view type,
               const std::string& words, const std::string& where) {
    json::Value& issue = issues.push_object();
    issue.add_string("severity", severity);
    issue.add_string("code", type);
    issue.add_object("details").add_string("text", words);
    if (where.starts_with("line ")) issue.add_string("diagnostics", where);
    if (!where.empty() && !where.starts_with("line ")) issue.add_array("expression").push_string(where);
}

std::string good_words(const Answer& answer) {
    const std::string entry =
        "entry " + answer.id->to_string() + ", revision " + std::to_string(answer.revision);
    if (answer.is_retracted) return "in the logbook already as " + entry + ", but retracted since";
    if (answer.kind == Kind::already_there) return "in the logbook already as " + entry;
    return answer.is_in_effect ? "accepted as " + entry
                               : "kept as " + entry + ", but a revision recorded later stays in effect";
}

void put_issues(json::Value& issues, const Answer& answer) {
    if (answer.problems.empty()) {
        put_issue(issues, "information", "informational", good_words(answer), answer.where);
        return;
    }
    const std::string_view type = answer.kind == Kind::conflict ? "conflict" : "processing";
    for (const entry::Problem& problem : answer.problems)
        put_issue(issues, "error", type, problem.what, problem.where.empty() ? answer.where : problem.where);
}

std::string_view status_of(Kind kind) {
    switch (kind) {
        case Kind::accepted:
            return "201 Created";
        case Kind::already_there:
            return "200 OK";
        case Kind::conflict:
            return "409 Conflict";
        case Kind::refused:
            return "422 Unprocessable Entity";
    }
    return {};
}

void put_response(json::Value& entries, const Answer* answer) {
    json::Value& response = entries.push_object().add_object("response");
    response.add_string("status", answer == nullptr ? "200 OK" : status_of(answer->kind));
    json::Value& issues = start_outcome(response.add_object("outcome"));
    if (answer != nullptr) return put_issues(issues, *answer);
    put_issue(issues, "information", "informational",
              "read for what the other entries say of whom, what and when; nothing of it is kept by itself",
              {});
}

bool only_conflicts(const Answers& answers) {
    return !answers.failure && answers.count(Kind::conflict) > 0 &&
           (answers.count(Kind::refused) == 0 || answers.resources->bundle_type == "transaction");
}

}  // namespace

HttpAnswer fhir_answer(const Answers& answers) {
    const Answers::Resources& resources = *answers.resources;
    const bool batch = resources.bundle_type == "batch";
    const bool taken = resources.bundle_type == "transaction" && answers.all_good();
    json::Document document;
    if (!answers.failure && (batch || taken)) {
        document.root().add_string("resourceType", "Bundle");
        document.root().add_string("type", batch ? "batch-response" : "transaction-response");
        json::Value& entries = document.root().add_array("entry");
        for (const auto& answer : resources.answer_of_part)
            put_response(entries, answer ? &answers.answers[*answer] : nullptr);
        return as_fhir(200, resources.release, document);
    }
    json::Value& issues = start_outcome(document.root());
    if (answers.failure) {
        put_issue(issues, "fatal", "processing", answers.failure->what, answers.failure->where);
        return as_fhir(400, resources.release, document);
    }
    for (const Answer& answer : answers.answers)
        put_issues(issues, answer);
    return as_fhir(answers.all_good()        ? 200
                   : only_conflicts(answers) ? 409
                                             : 422,
                   resources.release, document);
}

HttpAnswer fhir_error(int status, std::string_view issue_type, std::string_view words) {
    json::Document document;
    put_issue(start_outcome(document.root()), "fatal", issue_type, std::string(words), {});
    return as_fhir(status, fhir::spec::Release::r4, document);
}

}  // namespace nightferry::intake
