// MedicationAdministration, R4 (https://hl7.org/fhir/R4/medicationadministration.html): the elements we send.
#pragma once

#include "fhir/resource/datatypes.hpp"

namespace nightferry::fhir::resource {

struct MedicationAdministration {
    struct Performer {
        CodeableConcept function;
        Reference actor;
    };
    struct Dosage {
        std::string text;
        CodeableConcept site;
        CodeableConcept route;
        CodeableConcept method;
        Quantity dose;  // Always there: invariant mad-1 wants a dose or a rate.
    };

    std::string id;  // Only in an update.
    std::vector<Coding> security;
    std::vector<Identifier> identifier;
    std::string status;  // Required binding medication-admin-status.
    CodeableConcept status_reason;
    CodeableConcept category;
    CodeableConcept medication;
    Reference subject;
    std::string effective;  // dateTime; for a dose not given, when it was due.
    std::vector<Performer> performer;
    std::string note;
    std::optional<Dosage> dosage;
};

void put_resource(json::Value& into, const MedicationAdministration& administration);

}  // namespace nightferry::fhir::resource
