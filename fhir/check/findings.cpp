#include "fhir/check/findings.hpp"

#include "fhir/json/reader.hpp"

namespace nightferry::fhir::check {

namespace {

void append_expression(const Place& place, std::string& into) {
    if (place.up != nullptr) {
        append_expression(*place.up, into);
        into += '.';
    }
    into += place.element;
    if (place.index != Place::no_index) into += '[' + std::to_string(place.index) + ']';
}

void append_pointer(const Place& place, std::string& into) {
    if (place.up == nullptr) return;
    append_pointer(*place.up, into);
    into += '/' + json::pointer_token(place.member);
    if (place.index != Place::no_index) into += '/' + std::to_string(place.index);
}

}  // namespace

std::string expression_of(const Place& place) {
    std::string text;
    append_expression(place, text);
    return text;
}

std::string pointer_of(const Place& place) {
    std::string text;
    append_pointer(place, text);
    return text;
}

void Findings::put(const Rule& rule, std::string expression, const Place& place, std::string text) {
    if (rule.severity == Severity::warning && !options_.warnings) return;
    if (report_.issues.size() >= options_.issues_max) {
        report_.cut_short = true;
        return;
    }
    report_.issues.push_back(
        {rule, std::move(expression), pointer_of(place), place.value->offset(), std::move(text)});
}

void Findings::add(const Rule& rule, const Place& place, std::string text) {
    put(rule, expression_of(place), place, std::move(text));
}

void Findings::add_child(const Rule& rule, const Place& place, std::string_view child, std::string text) {
    put(rule, expression_of(place) + '.' + std::string(child), place, std::move(text));
}

}  // namespace nightferry::fhir::check
