// Invariants of CapabilityStatement, https://hl7.org/fhir/R4/capabilitystatement.html#invs.
#include <algorithm>
#include <string>
#include <vector>

#include "fhir/check/access.hpp"
#include "fhir/check/invariant_lists.hpp"

namespace nightferry::fhir::check {

namespace {

using json::Value;
using spec::Release;

// Whether the texts at `name` in the items of the list are all different; items without it do not count.
bool are_distinct(const Value& object, std::string_view list, std::string_view name) {
    std::vector<std::string_view> texts;
    for (const Value& item : object.items_at(list)) {
        if (const auto text = item.string_at(name); !text.empty()) texts.push_back(text);
    }
    std::sort(texts.begin(), texts.end());
    return std::adjacent_find(texts.begin(), texts.end()) == texts.end();
}

bool documents_are_distinct(const Value& object) {
    std::vector<std::string> keys;
    for (const Value& document : object.items_at("document"))
        keys.push_back(std::string(document.string_at("profile")) + std::string(document.string_at("mode")));
    std::sort(keys.begin(), keys.end());
    return std::adjacent_find(keys.begin(), keys.end()) == keys.end();
}

bool has_messaging_endpoint(const Value& object) {
    return std::ranges::any_of(object.items_at("messaging"),
                               [](const Value& one) { return present(one, "endpoint"); });
}

// [A-Z]([A-Za-z0-9_]){0,254}; R5 wants one more character at least.
bool is_computer_name(std::string_view name, std::size_t length_min) {
    const auto is_upper = [](char c) { return c >= 'A' && c <= 'Z'; };
    const auto is_word = [&](char c) {
        return is_upper(c) || (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '_';
    };
    return name.size() >= length_min && name.size() <= 255 && is_upper(name.front()) &&
           std::all_of(name.begin(), name.end(), is_word);
}

void naming(const Value& object, const Place& place, const Scope& scope) {
    const bool r5 = scope.release == Release::r5;
    const std::string_view name = object.string_at("name");
    advise(name.empty() || is_computer_name(name, r5 ? 2 : 1), r5 ? "cnl-0" : "cpb-0", place, scope,
           "a name should be usable in programs: letters, digits and _, and a capital first");
    if (!r5) return;
    advise(object.string_at("url").find_first_of("|# ") == std::string_view::npos, "cnl-1", place, scope,
           "a URL should not have the characters | and #");
}

void statement(const Value& object, const Place& place, const Scope& scope) {
    const std::string_view kind = object.string_at("kind");
    const bool implementation = present(object, "implementation");
    const bool software = present(object, "software");
    naming(object, place, scope);
    demand(present(object, "rest") || present(object, "messaging") || present(object, "document"), "cpb-1",
           place, scope, "a statement speaks of rest, messaging or documents");
    demand(present(object, "description") || software || implementation, "cpb-2", place, scope,
           "a statement has a description, software or implementation");
    demand(kind == "instance" || !has_messaging_endpoint(object), "cpb-3", place, scope,
           "only an instance has a messaging endpoint");
    if (scope.release == Release::r5)
        demand(are_distinct(object, "rest", "mode"), "cpb-4", place, scope,
               "there is one rest part for each mode");
    demand(documents_are_distinct(object), "cpb-7", place, scope, "documents differ in profile or mode");
    demand(kind != "instance" || implementation, "cpb-14", place, scope,
           "an instance says its implementation");
    demand(kind != "capability" || (!implementation && software), "cpb-15", place, scope,
           "a capability says its software and no implementation");
    demand(kind != "requirements" || (!implementation && !software), "cpb-16", place, scope,
           "requirements say neither software nor implementation");
}

void rest(const Value& object, const Place& place, const Scope& scope) {
    demand(are_distinct(object, "resource", "type"), "cpb-9", place, scope,
           "every resource type is described once");
}

void rest_resource(const Value& object, const Place& place, const Scope& scope) {
    demand(are_distinct(object, "searchParam", "name"), "cpb-12", place, scope,
           "every search parameter is described once");
}

constexpr NamedInvariant list[] = {
    {"CapabilityStatement", statement},
    {"CapabilityStatement.rest", rest},
    {"CapabilityStatement.rest.resource", rest_resource},
};

}  // namespace

std::span<const NamedInvariant> capability_invariants() {
    return list;
}

}  // namespace nightferry::fhir::check
