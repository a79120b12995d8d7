#include "daemon/mapping/observations.hpp"

#include "daemon/mapping/codes.hpp"
#include "daemon/mapping/summary.hpp"
#include "fhir/resource/observation.hpp"

namespace nightferry::mapping {

using fhir::resource::CodeableConcept;
using fhir::resource::loinc;
using fhir::resource::Observation;
using fhir::resource::Quantity;

namespace {

CodeableConcept category(std::string_view code, std::string_view display) {
    return {{{std::string(observation_category), std::string(code), std::string(display)}}, {}};
}

Quantity quantity(const Decimal& value, std::string_view unit, std::string_view code) {
    return {value.to_string(), std::string(unit), std::string(code)};
}

void add_measure(Observation& observation, std::string_view code, std::string_view text,
                 const std::optional<Decimal>& value, std::string_view unit) {
    if (value) observation.component.push_back({local_concept(code, text), quantity(*value, unit, unit)});
}

void fill(Observation& observation, const entry::Finding& finding_entry) {
    observation.category = {category("exam", "Exam")};
    observation.code = finding(finding_entry);
    observation.value = finding_entry.present;
    if (finding_entry.site) observation.body_site = site(*finding_entry.site);
    // What ties the looks at one lesion together; no identifier, since that names one resource only.
    if (finding_entry.lesion) {
        observation.component.push_back(
            {local_concept("lesion", "the family's label of the lesion"), *finding_entry.lesion});
    }
    // A bruise is no wound, so the published wound measures would say too much.
    add_measure(observation, "length", "longest measure", finding_entry.length_cm, "cm");
    add_measure(observation, "width", "width across the longest measure", finding_entry.width_cm, "cm");
    if (finding_entry.pain) {
        observation.component.push_back({{{{std::string(loinc), "72514-3",
                                            "Pain severity - 0-10 verbal numeric rating [Score] - Reported"}},
                                          "pain from 0 to 10"},
                                         quantity(*finding_entry.pain, "{score}", "{score}")});
    }
    add_measure(observation, "duration", "how long it lasted", finding_entry.minutes, "min");
}

void fill(Observation& observation, const entry::Weight& weight) {
    observation.category = {category("vital-signs", "Vital Signs")};
    const bool measured = weight.how == entry::HowWeighed::measured;
    observation.code = {{{std::string(loinc), "29463-7", "Body weight"}}, "body weight"};
    if (measured) observation.code.coding.push_back({std::string(loinc), "3141-9", "Body weight Measured"});
    observation.value = quantity(weight.kg, "kg", "kg");
    observation.method.text = measured ? "measured at home" : "estimated at home";
}

void fill(Observation& observation, const entry::VialOpened& opened, const entry::Medicine& medicine) {
    observation.category = {category("therapy", "Therapy")};
    observation.code = local_concept("vial-opened", "vial opened");
    observation.value = substance(medicine.substance,
                                  medicine.substance + " " + medicine.strength.to_string() + " " +
                                      (medicine.strength_unit == entry::Unit::milligram ? "mg/mL" : "IU/mL"));
    observation.component.push_back(
        {local_concept("vial-label", "the family's label of the vial"), opened.vial});
    add_measure(observation, "vial-volume", "volume printed on the vial", opened.volume_ml, "mL");
    if (opened.lot) observation.component.push_back({local_concept("lot-number", "lot number"), *opened.lot});
    if (opened.expires) {
        observation.component.push_back({local_concept("expiry-date", "expiry date printed on the vial"),
                                         Observation::DateTime{*opened.expires}});
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
