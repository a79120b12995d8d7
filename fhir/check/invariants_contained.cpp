// The rules of every DomainResource, which are mostly about contained resources:
// https://hl7.org/fhir/R4/domainresource.html#invs and https://hl7.org/fhir/R4/references.html#contained.
#include <algorithm>
#include <string_view>
#include <vector>

#include "fhir/check/access.hpp"
#include "fhir/check/invariant_lists.hpp"

namespace nightferry::fhir::check {

namespace {

using json::Value;

// Calls `each` with every text of the tree that starts with "#", narratives not counted: references and URIs
// lead to a contained resource by its id behind "#".
template <class Each>
void for_each_mark(const Value& tree, const Each& each) {
    if (tree.is(json::Kind::string)) {
        if (tree.text().starts_with('#') && tree.name() != "div") each(tree.text());
        return;
    }
    for (const Value& child : tree)
        for_each_mark(child, each);
}

// Every contained resource is pointed to, or points to its container with "#" alone.
bool all_are_tied(const Value& contained, const Value& resource) {
    std::vector<std::string_view> marks;
    for_each_mark(resource, [&](std::string_view mark) { marks.push_back(mark.substr(1)); });
    std::sort(marks.begin(), marks.end());
    return std::all_of(contained.begin(), contained.end(), [&](const Value& one) {
        if (!one.is(json::Kind::object)) return true;  // Has been reported.
        const std::string_view id = one.string_at("id");
        if (!id.empty() && std::binary_search(marks.begin(), marks.end(), id)) return true;
        bool points_out = false;
        for_each_mark(one, [&](std::string_view mark) { points_out = points_out || mark.size() == 1; });
        return points_out;
    });
}

void contained_resources(const Value& contained, const Place& place, const Scope& scope) {
    bool nested = false;
    bool versioned = false;
    bool labelled = false;
    for (const Value& one : contained) {
        nested = nested || present(one, "contained");
        const Value* meta = one.find("meta");
        if (meta == nullptr) continue;
        versioned = versioned || present(*meta, "versionId") || present(*meta, "lastUpdated");
        labelled = labelled || present(*meta, "security");
    }
    demand(!nested, "dom-2", place, scope, "a contained resource contains no other");
    demand(all_are_tied(contained, *place.value), "dom-3", place, scope,
           "every contained resource is referred to from the resource that contains it, or refers to it");
    demand(!versioned, "dom-4", place, scope, "a contained resource has no version and time of its own");
    demand(!labelled, "dom-5", place, scope, "a contained resource has no security label of its own");
}

// The types that are new in R4B; contained in older ones they are lost on systems of R4.
bool is_new_in_r4b(std::string_view type) {
    constexpr std::string_view types[] = {"AdministrableProductDefinition",
                                          "Citation",
                                          "ClinicalUseDefinition",
                                          "Evidence",
                                          "EvidenceReport",
                                          "EvidenceVariable",
                                          "Ingredient",
                                          "MedicinalProductDefinition",
                                          "PackagedProductDefinition",
                                          "RegulatedAuthorization",
                                          "SubscriptionStatus",
                                          "SubscriptionTopic",
                                          "SubstanceDefinition"};
    return std::ranges::find(types, type) != std::end(types);
}

}  // namespace

void check_domain_resource(const Value& resource, const Place& place, const Scope& scope) {
    if (const Value* contained = resource.find("contained")) {
        contained_resources(*contained, place, scope);
        if (scope.release == spec::Release::r4b && !is_new_in_r4b(resource.string_at("resourceType"))) {
            const bool old = std::none_of(contained->begin(), contained->end(), [](const Value& one) {
                return is_new_in_r4b(one.string_at("resourceType"));
            });
            advise(old, "dom-r4b", place, scope,
                   "a type that is new in R4B should not be contained in an older one");
        }
    }
    if (!scope.findings.wants_warnings() || scope.in_contained()) return;
    const Value* text = resource.find("text");
    advise(text != nullptr && present(*text, "div"), "dom-6", place, scope,
           "a resource should have a narrative for people");
}

}  // namespace nightferry::fhir::check
