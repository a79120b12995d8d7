#include "fhir/exchange/outcome.hpp"

#include "fhir/json/reader.hpp"

namespace nightferry::fhir::exchange {

namespace {

std::string issue_text(const json::Value& issue) {
    if (const json::Value* details = issue.find("details")) {
        if (const auto text = details->string_at("text"); !text.empty()) return std::string(text);
    }
    if (const auto diagnostics = issue.string_at("diagnostics"); !diagnostics.empty())
        return std::string(diagnostics);
    const json::Value* details = issue.find("details");
    const json::Value* codings = details == nullptr ? nullptr : details->find("coding");
    if (codings != nullptr && codings->size() > 0) return std::string(codings->front().string_at("display"));
    return {};
}

std::string first_text(const json::Value* list) {
    return list != nullptr && list->is(json::Kind::array) && list->size() > 0
               ? std::string(list->front().text())
               : std::string();
}

std::string one_line(std::string_view text, std::size_t limit) {
    std::string line;
    bool blank_pending = false;
    for (const char c : text) {
        const bool blank = static_cast<unsigned char>(c) <= 0x20 || c == 0x7F;
        if (blank) {
            blank_pending = !line.empty();
            continue;
        }
        if (blank_pending) line += ' ';
        blank_pending = false;
        line += c;
    }
    if (line.size() <= limit) return line;
    line.resize(limit);
    // Do not end inside a UTF-8 sequence.
    while (!line.empty() && (static_cast<unsigned char>(line.back()) & 0xC0) == 0x80)
        line.pop_back();
    if (!line.empty() && static_cast<unsigned char>(line.back()) >= 0xC0) line.pop_back();
    return line + "…";
}

}  // namespace

std::vector<OutcomeIssue> outcome_issues(const json::Value& value) {
    std::vector<OutcomeIssue> issues;
    const json::Value* list = value.find("issue");
    if (value.string_at("resourceType") != "OperationOutcome" || list == nullptr ||
        !list->is(json::Kind::array)) {
        return issues;
    }
    for (const json::Value& issue : *list) {
        std::string where = first_text(issue.find("expression"));
        if (where.empty()) where = first_text(issue.find("location"));
        issues.push_back({std::string(issue.string_at("severity")), std::string(issue.string_at("code")),
                          issue_text(issue), std::move(where)});
    }
    return issues;
}

std::string outcome_words(const json::Value& outcome, std::size_t limit) {
    std::string words;
    for (const OutcomeIssue& issue : outcome_issues(outcome)) {
        if (!words.empty()) words += "; ";
        words += issue.text.empty() ? issue.code : issue.text;
        if (!issue.where.empty()) words += " (" + issue.where + ")";
    }
    return one_line(words, limit);
}

std::string server_words(std::string_view body, std::size_t limit) {
    if (const auto document = json::read(body)) {
        std::string words = outcome_words(document->root(), limit);
        if (!words.empty()) return words;
    }
    return one_line(body.substr(0, 4 * limit), limit);
}

}  // namespace nightferry::fhir::exchange
