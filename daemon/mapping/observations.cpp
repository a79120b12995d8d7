#include "daemon/mapping/observations.hpp"

#include "daemon/mapping/codes.hpp"
#include "daemon/mapping/observation_codes.hpp"
#include "daemon/mapping/summary.hpp"
#include "fhir/resource/observation.hpp"

namespace nightferry::mapping {

using fhir::resource::CodeableConcept;
using fhir::resource::Observation;
using fhir::resource::Quantity;

namespace {

CodeableConcept category(std::string_view code, std::string_view display) {
    return {{{std::string(observation_category), std::string(code), std::string(display)}}, {}};
}

Quantity quantity(const Decimal& value, std::string_view unit, std::string_view code) {
    return {value.to_string(), std::string(unit), std::string(code)};
}

void add_measure(Observation& observation, Part part, const std::optional<Decimal>& value) {
    const std::string_view unit = part_code(part).unit;
    if (value) observation.component.push_back({part_concept(part), quantity(*value, unit, unit)});
}

void fill(Observation& observation, const entry::Finding& finding_entry) {
    observation.category = {category("exam", "Exam")};
    observation.code = finding(finding_entry);
    observation.value = finding_entry.present;
    if (finding_entry.site) observation.body_site = site(*finding_entry.site);
    if (finding_entry.lesion)
        observation.component.push_back({part_concept(Part::lesion), *finding_entry.lesion});
    add_measure(observation, Part::length, finding_entry.length_cm);
    add_measure(observation, Part::width, finding_entry.width_cm);
    add_measure(observation, Part::pain, finding_entry.pain);
    add_measure(observation, Part::duration, finding_entry.minutes);
}

void fill(Observation& observation, const entry::Weight& weight) {
    observation.category = {category("vital-signs", "Vital Signs")};
    observation.code = weight_code(weight.how);
    observation.value = quantity(weight.kg, "kg", "kg");
    observation.method.text = weight_words(weight.how);
}

void fill(Observation& observation, const entry::VialOpened& opened, const entry::Medicine& medicine) {
    observation.category = {category("therapy", "Therapy")};
    observation.code = local_concept(vial_opened_code, "vial opened");
    observation.value = substance(medicine.substance, product_words(medicine));
    observation.component.push_back({part_concept(Part::vial_label), opened.vial});
    add_measure(observation, Part::vial_volume, opened.volume_ml);
    if (opened.lot) observation.component.push_back({part_concept(Part::lot), *opened.lot});
    if (opened.expires) {
        observation.component.push_back({part_concept(Part::expiry), Observation::DateTime{*opened.expires}});
    }
}

std::string status_of(entry::Action action) {
    switch (action) {
        case entry::Action::record:
            return "final";
        case entry::Action::amend:
            return "amended";
        case entry::Action::retract:
            return "entered-in-error";
    }
    return {};
}

}  // namespace

Result<void> put_observation(fhir::json::Value& into, const entry::Version& version,
                             const entry::Household& household, const Frame& frame,
                             fhir::spec::Release release) {
    Observation observation;
    observation.id = frame.id;
    observation.security = frame.security;
    observation.contained = frame.contained;
    observation.identifier = frame.identifiers;
    observation.status = status_of(version.action());
    observation.subject = frame.subject;
    const auto* summary = std::get_if<entry::Summary>(&version.content.what);
    if (summary == nullptr) observation.effective = to_text(version.content.time);
    // A performer is somebody; what the hub computed names it as the device.
    if (summary == nullptr) {
        observation.performer = {frame.by};
    } else {
        observation.device = frame.by;
    }
    observation.note = version.content.note.value_or("");
    if (frame.dose) observation.part_of = {*frame.dose};
    if (const auto* finding_entry = std::get_if<entry::Finding>(&version.content.what))
        fill(observation, *finding_entry);
    if (const auto* weight = std::get_if<entry::Weight>(&version.content.what)) fill(observation, *weight);
    if (const auto* opened = std::get_if<entry::VialOpened>(&version.content.what)) {
        const entry::Medicine* medicine = household.medicine(opened->medicine);
        if (medicine == nullptr)
            return Error{Errc::setup, "the settings no longer name the medicine of this entry"};
        fill(observation, *opened, *medicine);
    }
    if (summary != nullptr) fill(observation, *summary, version.content.time, household);
    fhir::resource::put_resource(into, observation, release);
    return {};
}

}  // namespace nightferry::mapping
