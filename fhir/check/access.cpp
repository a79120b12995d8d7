#include "fhir/check/access.hpp"

#include <algorithm>

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

const Value* choice_value(const Value& object, std::string_view prefix) {
    const auto found = std::find_if(object.begin(), object.end(), [prefix](const Value& member) {
        return is_choice_name(member.name(), prefix);
    });
    return found == object.end() ? nullptr : &*found;
}

bool deep_equal(const Value& a, const Value& b) {
    if (a.kind() != b.kind() || a.size() != b.size()) return false;
    if (a.is(json::Kind::boolean)) return a.boolean() == b.boolean();
    if (a.is(json::Kind::array)) return std::equal(a.begin(), a.end(), b.begin(), deep_equal);
    if (!a.is(json::Kind::object)) return a.text() == b.text();
    return std::all_of(a.begin(), a.end(), [&b](const Value& member) {
        const Value* other = b.find(member.name());
        return other != nullptr && deep_equal(member, *other);
    });
}

}  // namespace nightferry::fhir::check
