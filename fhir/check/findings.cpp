#include "fhir/check/findings.hpp"

#include <algorithm>

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
    const bool warning = rule.severity == Severity::warning;
    if (warning && !options_.warnings) return;
    std::size_t& count = warning ? warnings_ : errors_;
    if (count >= std::max<std::size_t>(options_.issues_max, 1)) {
        report_.cut_short = true;
        full_ = full_ || !warning;
        return;
    }
    ++count;
    report_.issues.push_back(
        {rule, std::move(expression), pointer_of(place), place.value->offset(), std::move(text)});
}

void Findings::add(const Rule& rule, const Place& place, std::string text) {
    put(rule, expression_of(place), place, std::move(text));
}

void Findings::add_missing(const Rule& rule, const Place& place, std::string_view child, std::string text) {
    put(rule, expression_of(place) + '.' + std::string(child), place, std::move(text));
}

}  // namespace nightferry::fhir::check
