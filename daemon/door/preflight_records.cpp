// The part of Preflight about what the server would take.
#include <algorithm>

#include "daemon/core/words.hpp"
#include "daemon/door/preflight.hpp"
#include "daemon/sync/fate.hpp"
#include "fhir/exchange/outcome.hpp"
#include "fhir/exchange/told_location.hpp"
#include "fhir/json/reader.hpp"

namespace nightferry::door {

using Result = Step::Result;

void Preflight::look_at_permissions() {
    std::vector<std::string> offered;
    for (const char* type : {"MedicationAdministration", "Observation", "Provenance"}) {
        const auto* said = statement_->type(type);
        if (!statement_->types.empty() &&
            (said == nullptr || !(said->can("create") || said->can("update")))) {
            const bool is_needed = std::string_view(type) != "Provenance";
            add(Result::note, "permission",
                std::string("the server does not say that it takes ") + type +
                    (is_needed
                         ? "; if it takes none, nothing of that kind gets through"
                         : "; records then say who gave and who wrote them down by their own elements only"));
        } else {
            offered.push_back(type);
        }
    }
    if (!offered.empty())
        add(Result::good, "permission",
            "offered are " + all_of(std::vector<std::string_view>(offered.begin(), offered.end())));
}

bool Preflight::offers_validation(std::string_view type) const {
    const auto is_there = [](const std::vector<std::string>& operations) {
        return std::find(operations.begin(), operations.end(), "validate") != operations.end();
    };
    const auto* said = statement_->type(type);
    return is_there(statement_->operations) || (said != nullptr && is_there(said->operations));
}

void Preflight::begin_validating() {
    phase_ = Phase::validating_dose;
    if (offers_validation("MedicationAdministration") && !patient_.empty()) return;
    phase_ = Phase::validating_finding;
    if (offers_validation("Observation")) return;
    add(Result::note, "validation", "the server offers none, so what it takes shows only when it is sent");
    begin_writing();
}

// https://hl7.org/fhir/R4/resource-operation-validate.html
void Preflight::on_verdict(const sync::Reply& reply, std::string_view type) {
    const std::string name(type);
    const HttpAnswer* answer = std::get_if<HttpAnswer>(&reply);
    const auto document = answer == nullptr ? std::nullopt : std::optional(fhir::json::read(answer->body));
    const bool is_outcome = document && *document && answer->status < 500 &&
                            (*document)->root().string_at("resourceType") == "OperationOutcome";
    if (!is_outcome) return add(Result::note, "validation", name + ": no verdict: " + sync::words_for(reply));
    const auto issues = fhir::exchange::outcome_issues((*document)->root());
    const bool has_errors = std::any_of(issues.begin(), issues.end(), [](const auto& issue) {
        return issue.severity == "error" || issue.severity == "fatal";
    });
    if (answer->status == 200 && !has_errors)
        return add(Result::good, "validation", name + ": the server would take it");
    add(Result::note, "validation",
        name +
            ": the server would refuse a test record: " + fhir::exchange::outcome_words((*document)->root()));
}

void Preflight::begin_writing() {
    phase_ = Phase::writing;
    if (!wish_.test_record || !is_good(steps_)) end();
}

void Preflight::on_written(const sync::Reply& reply) {
    const HttpAnswer* answer = std::get_if<HttpAnswer>(&reply);
    const std::string what = "identifier " + wish_.record.identifier_value;
    if (answer == nullptr || answer->status / 100 != 2) {
        const bool may_be_there = sync::may_have_acted(reply);
        add(Result::bad, "test record",
            "it was not taken: " + sync::words_for(reply) +
                (may_be_there ? "; if it is there all the same, it is an Observation with the " + what : ""));
        return end();
    }
    const auto document = fhir::json::read(answer->body);
    const auto place =
        fhir::exchange::location_told(header(answer->headers, "Location"), header(answer->headers, "ETag"),
                                      document ? &document->root() : nullptr);
    if (!place || place->type != "Observation") {
        add(Result::bad, "test record",
            "it was taken, but the server does not say where it is, so it was not retracted; it is an "
            "Observation "
            "with the " +
                what);
        return end();
    }
    add(Result::good, "test record", "it was taken as " + place->reference());
    wish_.record.id = place->id;
    wish_.record.in_error = true;
    phase_ = Phase::retracting;
}

void Preflight::on_retracted(const sync::Reply& reply) {
    const HttpAnswer* answer = std::get_if<HttpAnswer>(&reply);
    const std::string place = "Observation/" + wish_.record.id;
    if (answer != nullptr && answer->status / 100 == 2)
        return add(Result::good, "test record", place + " was marked as entered in error");
    add(Result::bad, "test record", place + " was not retracted: " + sync::words_for(reply));
}

}  // namespace nightferry::door
