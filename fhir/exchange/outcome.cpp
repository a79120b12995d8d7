#include "fhir/exchange/outcome.hpp"

#include <algorithm>

#include "fhir/exchange/html_words.hpp"
#include "fhir/exchange/one_line.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/resource/read_datatypes.hpp"

namespace nightferry::fhir::exchange {

namespace {

// https://hl7.org/fhir/R4/extension-translation.html: a text that is only there in translations.
std::string translation_of(const json::Value& details) {
    const json::Value* beside = details.find("_text");
    if (beside == nullptr) return {};
    for (const json::Value& extension : beside->items_at("extension")) {
        for (const json::Value& part : extension.items_at("extension")) {
            if (part.string_at("url") != "content") continue;
            for (const char* name : {"valueString", "valueMarkdown"}) {
                if (const auto text = part.string_at(name); !text.empty()) return std::string(text);
            }
        }
    }
    return {};
}

std::string words_of_coding(const json::Value& details) {
    for (const json::Value& coding : details.items_at("coding")) {
        for (const char* name : {"display", "code"}) {
            if (const auto text = coding.string_at(name); !text.empty()) return std::string(text);
        }
    }
    return {};
}

std::string issue_text(const json::Value& issue) {
    const json::Value* details = issue.find("details");
    std::string text;
    if (details != nullptr) {
        text = details->string_at("text");
        if (text.empty()) text = translation_of(*details);
    }
    if (text.empty()) text = issue.string_at("diagnostics");
    if (text.empty() && details != nullptr) text = words_of_coding(*details);
    return text;
}

std::string first_text(const json::Value& issue, std::string_view name) {
    std::vector<std::string> texts = resource::texts_of(issue, name);
    return texts.empty() ? std::string() : std::move(texts.front());
}

bool is_error(const OutcomeIssue& issue) {
    return issue.severity == "fatal" || issue.severity == "error";
}

std::string words_of_narrative(const json::Value& outcome) {
    const json::Value* narrative = outcome.find("text");
    return narrative == nullptr ? std::string() : html_words(narrative->string_at("div"));
}

}  // namespace

std::vector<OutcomeIssue> outcome_issues(const json::Value& value) {
    std::vector<OutcomeIssue> issues;
    if (value.string_at("resourceType") != "OperationOutcome") return issues;
    const auto cut = [](std::string text) {
        if (text.size() > issue_text_bytes_max) text.resize(issue_text_bytes_max);
        return text;
    };
    for (const json::Value& issue : value.items_at("issue")) {
        if (issues.size() == issues_max) break;
        if (!issue.is(json::Kind::object)) continue;
        std::string where = first_text(issue, "expression");
        if (where.empty()) where = first_text(issue, "location");
        issues.push_back({std::string(issue.string_at("severity")), std::string(issue.string_at("code")),
                          cut(issue_text(issue)), cut(std::move(where))});
    }
    return issues;
}

bool is_outcome(std::string_view body) {
    const auto document = json::read(body);
    return document && document->root().string_at("resourceType") == "OperationOutcome";
}

std::string outcome_words(const json::Value& outcome, std::size_t limit) {
    std::vector<OutcomeIssue> issues = outcome_issues(outcome);
    std::stable_partition(issues.begin(), issues.end(), is_error);
    std::string words;
    for (const OutcomeIssue& issue : issues) {
        std::string one = issue.text.empty() ? issue.code : issue.text;
        if (one.empty() || words.size() > limit) continue;
        if (!issue.where.empty()) one += " (" + issue.where + ")";
        words += words.empty() ? one : "; " + one;
    }
    if (words.empty() && outcome.string_at("resourceType") == "OperationOutcome")
        words = words_of_narrative(outcome);
    return one_line(words, limit);
}

}  // namespace nightferry::fhir::exchange
