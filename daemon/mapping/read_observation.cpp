#include "daemon/mapping/read_observation.hpp"

#include <algorithm>

#include "daemon/core/words.hpp"
#include "daemon/entry/vocabulary.hpp"
#include "daemon/mapping/codes.hpp"
#include "daemon/mapping/observation_codes.hpp"
#include "fhir/resource/read_datatypes.hpp"

namespace nightferry::mapping {

namespace json = fhir::json;
using entry::Action;
using entry::HowWeighed;
using entry::Kind;
using fhir::resource::CodeableConcept;
using fhir::resource::Reference;

namespace {

// The value of a Quantity that has this UCUM code; else a problem, and `field` cannot be read.
void put_quantity(Element& at, const json::Value& quantity, std::string_view code, std::string_view field) {
    Element parts(quantity, at.path_of("value"), at.draft());
    const bool in_unit = parts.text("system") == fhir::resource::ucum && parts.text("code") == code;
    const std::string value = parts.text("value");
    parts.pass_over({"unit"});
    parts.refuse_leftovers();
    if (!in_unit) {
        parts.refuse("code",
                     "an entry counts this in UCUM " + std::string(code) +
                         ", system http://unitsofmeasure.org; write the value in it",
                     {field});
    } else if (value.empty()) {
        parts.refuse("value", "is missing; an entry says how much it was", {field});
    } else {
        at.draft().fields.push_back({std::string(field), value, parts.path_of("value")});
    }
}

void read_component(Element& component, Kind kind) {
    const CodeableConcept code = component.concept_at("code");
    const auto part = part_of(code);
    const PartCode* row = part.is_one() ? &part_code(part.values.front()) : nullptr;
    const auto value = component.choice("value");
    if (row == nullptr || row->of != kind)
        return component.refuse("code",
                                "an entry of this kind has no place for such a component; leave it out, or "
                                "say in note what the clinic needs of it");
    component.refuse_leftovers();
    if (component.draft().find(row->field) != nullptr)
        return component.refuse("code", "an entry has one of these; leave the other out");
    const std::string_view wanted = !row->unit.empty()          ? "Quantity"
                                    : row->part == Part::expiry ? "DateTime"
                                                                : "String";
    if (!value || value->type != wanted) {
        component.refuse("value", "expected a value of type " + std::string(wanted), {row->field});
    } else if (row->unit.empty()) {
        component.put(row->field, std::string(value->value->text()), "value");
    } else {
        put_quantity(component, *value->value, row->unit, row->field);
    }
}

void read_components(Element& resource, Kind kind) {
    for (Element& component : resource.items("component"))
        read_component(component, kind);
}

// The dose that a finding belongs to.
std::optional<EntryId> read_dose_link(Incoming& incoming) {
    Element& resource = incoming.element;
    const auto links = resource.items("partOf");
    if (links.empty()) return std::nullopt;
    const std::string& own = incoming.context.acquaintances.identifier_system();
    const Reference link = fhir::resource::reference_in(links.front().value());
    const auto target = incoming.context.surroundings.target(link.reference, incoming.source);
    std::optional<EntryId> dose;
    if (target && target->resource->string_at("resourceType") == "MedicationAdministration")
        dose = entry_of(*target, incoming.context.household, own);
    if (!dose && link.identifier) dose = entry_of(*link.identifier, incoming.context.household, own);
    if (dose && links.size() == 1) {
        resource.put("dose", dose->to_string(), "partOf");
        return dose;
    }
    resource.refuse(
        "partOf",
        "a finding belongs to one dose; name it by the identifier of its MedicationAdministration, or "
        "hand that in in the same Bundle",
        {"dose"});
    return std::nullopt;
}

void read_finding(Incoming& incoming, const CodeableConcept& code, entry::FindingKind what) {
    Element& resource = incoming.element;
    resource.put("type", "finding", "code");
    resource.put("finding", std::string(entry::word_for(what)), "code");
    const auto dose = read_dose_link(incoming);
    if (says_injection(code) && !dose && resource.value().find("partOf") == nullptr) {
        resource.refuse(
            "partOf",
            "is missing; a code that says that it comes from an injection goes with the dose: name it, "
            "or give a code that says nothing of an injection");
    }
    entry::Finding ours;
    ours.what = what;
    keep_words(incoming, "finding", code, finding(ours).text);
    const auto value = resource.choice("value");
    if (!value || value->type != "Boolean") {
        resource.refuse("value",
                        "a finding is there or is not: give valueBoolean true or false, and its measures as "
                        "components",
                        {"present"});
    } else {
        resource.put("present", value->value->boolean() ? "yes" : "no", "value");
    }
    if (resource.value().find("bodySite") != nullptr) {
        site_at(incoming, resource, "bodySite", resource.concept_at("bodySite"));
    } else if (entry::place_of(what) == entry::Place::at_a_site) {
        resource.refuse("bodySite",
                        "is missing; this finding lies at a place where somebody injects: say where",
                        {"region", "side"});
    }
    read_components(resource, Kind::finding);
}

void read_weight(Incoming& incoming, const CodeableConcept& code) {
    Element& resource = incoming.element;
    resource.put("type", "weight", "code");
    keep_words(incoming, "weight", code, weight_code(HowWeighed::measured).text);
    const auto value = resource.choice("value");
    if (value && value->type == "Quantity") {
        put_quantity(resource, *value->value, "kg", "kg");
    } else {
        resource.refuse("value", "a weight is a Quantity in kg", {"kg"});
    }
    const CodeableConcept method = resource.concept_at("method");
    const bool estimated = method.text == weight_words(HowWeighed::estimated);
    if (!method.coding.empty())
        resource.refuse("method", "an entry knows how a weight was found in words only: '" +
                                      std::string(weight_words(HowWeighed::measured)) + "' or '" +
                                      std::string(weight_words(HowWeighed::estimated)) + "'");
    if (!estimated) keep_words(incoming, "method", method, weight_words(HowWeighed::measured));
    if (estimated) resource.put("how", std::string(entry::word_for(HowWeighed::estimated)), "method");
    if (estimated && says_measured(code))
        resource.refuse("method", "says estimated, but LOINC 3141-9 in code says measured; make them agree");
}

void read_vial(Incoming& incoming) {
    Element& resource = incoming.element;
    resource.put("type", "vial_opened", "code");
    const auto value = resource.choice("value");
    if (value && value->type == "CodeableConcept") {
        const Product product = medicine_at(incoming, "value", fhir::resource::concept_in(*value->value));
        if (product.medicine != nullptr) resource.put("medicine", product.medicine->key, "value");
    } else {
        resource.refuse("value", "an opened vial says which medicine is in it, as a CodeableConcept",
                        {"medicine"});
    }
    read_components(resource, Kind::vial_opened);
    if (resource.draft().find("vial") == nullptr) {
        resource.refuse(
            "component",
            "no component gives the label of the vial, code vial-label of " + std::string(local_codes),
            {"vial"});
    }
}

// What an Observation with this code becomes; else a problem, and nothing for it.
std::optional<Kind> kind_of(Element& resource, const CodeableConcept& code) {
    const auto what = finding_of(code);
    const auto is_ours = [&](std::string_view one) { return shares_coding(code, local_concept(one, "")); };
    if (what.is_one()) return Kind::finding;
    if (shares_coding(code, weight_code(HowWeighed::measured))) return Kind::weight;
    if (is_ours(vial_opened_code)) return Kind::vial_opened;
    if (is_ours(summary_of_day_code) || is_ours(summary_of_week_code)) {
        resource.refuse("code", "the hub makes its summaries itself; hand in the doses that it counts");
        return std::nullopt;
    }
    resource.refuse("code",
                    what.known
                        ? "its codes name different findings; make them agree"
                        : "this is nothing that an entry can say; entries are findings at injection sites "
                          "and bleeding (a SNOMED CT code, or a word of the entry format as code of " +
                              std::string(local_codes) + "), a body weight (LOINC 29463-7), a vial opened");
    return std::nullopt;
}

std::optional<std::string> read_performer(Incoming& incoming) {
    auto performers = incoming.element.items("performer");
    if (performers.empty()) return std::nullopt;
    if (performers.size() > 1) {
        incoming.element.refuse("performer[1]",
                                "an entry names one person who saw it; name the others in note");
    }
    return carer_at(incoming, incoming.element, "performer",
                    fhir::resource::reference_in(performers.front().value()), "by");
}

}  // namespace

void read_observation(Incoming& incoming) {
    Element& resource = incoming.element;
    const std::string status = resource.text("status");
    const bool amended = status == "amended" || status == "corrected" ||
                         (incoming.authorship != nullptr && incoming.authorship->action == Action::amend);
    if (!amended && status != "final" && status != "entered-in-error") {
        return resource.refuse(
            "status",
            "an entry is final, amended, corrected or entered-in-error; hand it in when it is "
            "one of these");
    }
    const Action action = status == "entered-in-error" ? Action::retract
                          : amended                    ? Action::amend
                                                       : Action::record;
    const CodeableConcept code = resource.concept_at("code");
    const auto kind = kind_of(resource, code);
    if (!kind) return;
    read_frame(incoming, action);
    read_authors(incoming, action, "issued", read_performer(incoming));
    if (action == Action::retract) return;
    resource.pass_over({"category"});
    read_time(incoming, "effective");
    if (*kind == Kind::finding) read_finding(incoming, code, finding_of(code).values.front());
    if (*kind == Kind::weight) read_weight(incoming, code);
    if (*kind == Kind::vial_opened) read_vial(incoming);
    read_note(incoming);
    resource.refuse_leftovers();
}

}  // namespace nightferry::mapping
