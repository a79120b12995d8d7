#include "fhir/resource/medication_administration.hpp"

namespace nightferry::fhir::resource {

void put_resource(json::Value& into, const MedicationAdministration& administration) {
    put_head(into, "MedicationAdministration", administration.id, administration.security);
    put_all(into, "identifier", administration.identifier);
    put(into, "status", administration.status);
    if (!administration.status_reason.coding.empty() || !administration.status_reason.text.empty()) {
        put_all(into, "statusReason", std::vector{administration.status_reason});
    }
    put(into, "category", administration.category);
    put(into, "medicationCodeableConcept", administration.medication);
    put(into, "subject", administration.subject);
    put(into, "effectiveDateTime", administration.effective);
    if (!administration.performer.empty()) {
        json::Value& list = into.add_array("performer");
        for (const auto& performer : administration.performer) {
            json::Value& object = list.push_object();
            put(object, "function", performer.function);
            put(object, "actor", performer.actor);
        }
    }
    put_note(into, administration.note);
    if (administration.dosage) {
        json::Value& dosage = into.add_object("dosage");
        put(dosage, "text", administration.dosage->text);
        put(dosage, "site", administration.dosage->site);
        put(dosage, "route", administration.dosage->route);
        put(dosage, "method", administration.dosage->method);
        put(dosage, "dose", administration.dosage->dose);
    }
}

}  // namespace nightferry::fhir::resource
