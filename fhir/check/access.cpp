#include "fhir/check/access.hpp"

#include <algorithm>
#include <vector>

namespace nightferry::fhir::check {

using json::Value;

namespace {

std::string_view plain(std::string_view name) {
    return name.starts_with('_') ? name.substr(1) : name;
}

// Reported for what it is, and then not there: an empty list or null does not set other rules going.
bool is_nothing(const Value& member) {
    return member.is(json::Kind::null) || (member.is(json::Kind::array) && member.size() == 0);
}

bool is_choice_name(std::string_view name, std::string_view prefix) {
    return name.size() > prefix.size() && name.starts_with(prefix) && name[prefix.size()] >= 'A' &&
           name[prefix.size()] <= 'Z';
}

// Lengths in front keep texts apart that would look alike when joined.
void append_text(std::string_view part, std::string& into) {
    into += std::to_string(part.size()) + ':';
    into += part;
}

void append_comparable(const Value& value, std::string& into) {
    std::vector<const Value*> children;
    for (const Value& child : value)
        children.push_back(&child);
    if (value.is(json::Kind::object)) std::ranges::sort(children, {}, &Value::name);
    into += static_cast<char>('a' + static_cast<int>(value.kind()));
    append_text(value.is(json::Kind::boolean) ? value.boolean() ? "true" : "false" : value.text(), into);
    for (const Value* child : children) {
        append_text(child->name(), into);
        append_comparable(*child, into);
    }
    into += ';';
}

}  // namespace

bool present(const Value& object, std::string_view name) {
    if (!object.is(json::Kind::object)) return false;
    return std::any_of(object.begin(), object.end(), [name](const Value& member) {
        return plain(member.name()) == name && !is_nothing(member);
    });
}

bool choice_present(const Value& object, std::string_view prefix) {
    return std::any_of(object.begin(), object.end(), [prefix](const Value& member) {
        return is_choice_name(plain(member.name()), prefix) && !is_nothing(member);
    });
}

std::string comparable_text(const Value& value) {
    std::string text;
    append_comparable(value, text);
    return text;
}

}  // namespace nightferry::fhir::check
