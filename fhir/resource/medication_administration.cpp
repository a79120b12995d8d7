#include "fhir/resource/medication_administration.hpp"

namespace nightferry::fhir::resource {

using spec::Release;

namespace {

// https://terminology.hl7.org renamed the code system for R5; its codes stayed.
void put_category(json::Value& into, const MedicationAdministration::Place& place, Release release) {
    if (place.code.empty()) return;
    const auto concept_in = [&](const char* system) {
        return CodeableConcept{{{system, place.code, place.display}}, {}};
    };
    if (release == Release::r5) {
        put_all(into, "category",
                std::vector{concept_in("http://terminology.hl7.org/CodeSystem/medication-admin-location")});
    } else {
        put(into, "category", concept_in("http://terminology.hl7.org/CodeSystem/medication-admin-category"));
    }
}

void put_performers(json::Value& into, const std::vector<MedicationAdministration::Performer>& performers,
                    Release release) {
    if (performers.empty()) return;
    json::Value& list = into.add_array("performer");
    for (const auto& performer : performers) {
        json::Value& object = list.push_object();
        put(object, "function", performer.function);
        if (release == Release::r5) {
            put_codeable(object, "actor", performer.actor);
        } else {
            put(object, "actor", performer.actor);
        }
    }
}

void put_dosage(json::Value& into, const MedicationAdministration::Dosage& dosage) {
    json::Value& object = into.add_object("dosage");
    put(object, "text", dosage.text);
    put(object, "site", dosage.site);
    put(object, "route", dosage.route);
    put(object, "method", dosage.method);
    put(object, "dose", dosage.dose);
}

}  // namespace

void put_resource(json::Value& into, const MedicationAdministration& administration, Release release) {
    const bool r5 = release == Release::r5;
    put_head(into, "MedicationAdministration", administration.id, administration.security);
    put_contained(into, administration.contained);
    put_all(into, "identifier", administration.identifier);
    put(into, "status", administration.status);
    if (!is_empty(administration.status_reason)) {
        put_all(into, "statusReason", std::vector{administration.status_reason});
    }
    put_category(into, administration.category, release);
    if (r5) {
        put_codeable(into, "medication", administration.medication);
    } else {
        put(into, "medicationCodeableConcept", administration.medication);
    }
    put(into, "subject", administration.subject);
    // The published name of the R5 element has one r.
    put(into, r5 ? "occurenceDateTime" : "effectiveDateTime", administration.effective);
    if (r5) put(into, "recorded", administration.recorded);
    put_performers(into, administration.performer, release);
    if (r5) {
        put_all_codeable(into, "reason", administration.reason);
    } else {
        put_all(into, "reasonCode", administration.reason);
    }
    if (!is_empty(administration.request)) put(into, "request", administration.request);
    put_note(into, administration.note);
    if (administration.dosage) put_dosage(into, *administration.dosage);
}

}  // namespace nightferry::fhir::resource
