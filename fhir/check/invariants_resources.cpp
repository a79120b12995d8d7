// Invariants of the resources about a person's care that this library is for: MedicationAdministration,
// Observation, Provenance, Device, Patient; and of Parameters.
#include <algorithm>
#include <string>
#include <string_view>
#include <vector>

#include "fhir/check/access.hpp"
#include "fhir/check/invariant_lists.hpp"

namespace nightferry::fhir::check {

namespace {

using json::Value;
using spec::Release;

void administered_dosage(const Value& object, const Place& place, const Scope& scope) {
    const bool amount = present(object, "dose") || choice_present(object, "rate");
    const bool text_will_do = scope.release == Release::r5 && present(object, "text");
    demand(amount || text_will_do, "mad-1", place, scope,
           scope.release == Release::r5 ? "a dosage has a text, a dose or a rate"
                                        : "a dosage has a dose or a rate");
}

// Some component has a coding that the observation's own code has too (obs-7).
bool component_repeats_code(const Value& object, const Value& code) {
    std::vector<std::string> own;
    for (const Value& coding : code.items_at("coding"))
        own.push_back(comparable_text(coding));
    std::ranges::sort(own);
    const auto is_own = [&](const Value& coding) {
        return std::ranges::binary_search(own, comparable_text(coding));
    };
    return std::ranges::any_of(object.items_at("component"), [&](const Value& component) {
        const Value* its_code = component.find("code");
        return its_code != nullptr && std::ranges::any_of(its_code->items_at("coding"), is_own);
    });
}

// obs-9: a group that a specimen is taken from consists of specimens. Members that lead out of this document
// are not judged.
bool group_has_only_specimens(const Value& group, const Scope& scope) {
    return std::ranges::all_of(group.items_at("member"), [&](const Value& member) {
        const Value* entity = member.find("entity");
        const Value* resource = entity == nullptr ? nullptr : scope.resolve(*entity);
        return resource == nullptr || resource->string_at("resourceType") == "Specimen";
    });
}

void specimen(const Value& object, const Place& place, const Scope& scope) {
    const Value* reference = object.find("specimen");
    const Value* resource = reference == nullptr ? nullptr : scope.resolve(*reference);
    if (resource == nullptr || resource->string_at("resourceType") != "Group") return;
    const Place at{&place, reference, "specimen", "specimen"};
    const auto [verdict, is_new] = scope.groups->emplace(resource, false);
    if (is_new) verdict->second = group_has_only_specimens(*resource, scope);
    demand(verdict->second, "obs-9", at, scope, "a group of specimens has no other members");
}

void observation(const Value& object, const Place& place, const Scope& scope) {
    const bool value = choice_present(object, "value");
    demand(!(value && present(object, "dataAbsentReason")), "obs-6", place, scope,
           "a reason for an absent value is there only when there is no value");
    const Value* code = object.find("code");
    const bool repeated =
        value && code != nullptr && present(object, "component") && component_repeats_code(object, *code);
    demand(!repeated, "obs-7", place, scope,
           "with a value no component has the code of the observation itself");
    if (scope.release != Release::r5) return;
    demand(!(present(object, "bodySite") && present(object, "bodyStructure")), "obs-8", place, scope,
           "either bodySite or bodyStructure is there, and not both");
    specimen(object, place, scope);
}

void reference_range(const Value& object, const Place& place, const Scope& scope) {
    demand(present(object, "low") || present(object, "high") || present(object, "text"), "obs-3", place,
           scope, "a reference range has a low or high end or a text");
}

// The resource that the role is about, when both are in this document.
const Value* party_of(const Value& role, std::string_view type, std::string_view link, const Scope& scope) {
    const Value* reference = role.string_at("resourceType") == type ? role.find(link) : nullptr;
    return reference == nullptr ? nullptr : scope.resolve(*reference);
}

// Nobody acts on behalf of themselves: not directly (prov-1), not as somebody in a role (prov-2), and an
// organisation not for somebody in a role of its own (prov-3).
void provenance_agent(const Value& object, const Place& place, const Scope& scope) {
    if (scope.release != Release::r5) return;
    const Value* who = object.find("who");
    const Value* behalf = object.find("onBehalfOf");
    if (who == nullptr || behalf == nullptr) return;
    const std::string_view reference = who->string_at("reference");
    demand(reference.empty() || reference != behalf->string_at("reference"), "prov-1", place, scope,
           "nobody acts on behalf of themselves");
    const Value* actor = scope.resolve(*who);
    const Value* principal = scope.resolve(*behalf);
    if (actor == nullptr || principal == nullptr) return;
    demand(party_of(*actor, "PractitionerRole", "practitioner", scope) != principal, "prov-2", place, scope,
           "nobody in a role acts on behalf of themselves");
    demand(party_of(*principal, "PractitionerRole", "organization", scope) != actor, "prov-3", place, scope,
           "an organization does not act on behalf of somebody in a role of its own");
}

void device(const Value& object, const Place& place, const Scope& scope) {
    if (scope.release != Release::r5) return;
    const auto shown = std::ranges::count_if(object.items_at("name"), [](const Value& name) {
        const Value* display = name.find("display");
        return display != nullptr && display->boolean();
    });
    demand(shown <= 1, "dev-1", place, scope, "at most one name is the one to display");
}

void patient_contact(const Value& object, const Place& place, const Scope& scope) {
    constexpr std::string_view details[] = {"name", "telecom", "address", "organization"};
    const bool any = std::ranges::any_of(details, [&](std::string_view one) { return present(object, one); });
    demand(any, "pat-1", place, scope, "a contact has a name, telecom, address or organization");
}

void parameter(const Value& object, const Place& place, const Scope& scope) {
    const bool parts = present(object, "part");
    const bool value = choice_present(object, "value");
    const bool resource = present(object, "resource");
    const bool holds = parts ? !value && !resource : value != resource;
    demand(holds, "inv-1", place, scope, "a parameter has exactly one of value, resource and parts");
}

constexpr NamedInvariant list[] = {
    {"MedicationAdministration.dosage", administered_dosage},
    {"Observation", observation},
    {"Observation.referenceRange", reference_range},
    {"Provenance.agent", provenance_agent},
    {"Device", device},
    {"Patient.contact", patient_contact},
    {"Parameters.parameter", parameter},
};

}  // namespace

std::span<const NamedInvariant> resource_invariants() {
    return list;
}

}  // namespace nightferry::fhir::check
