// MedicationAdministration: the elements we send, in any release.
//
// The struct is release-neutral; what a release lacks is left out:
//   recorded   R5 only.
// The rest exists everywhere, under names and in shapes that put_resource knows
// (https://hl7.org/fhir/R4/medicationadministration.html,
// https://hl7.org/fhir/R5/medicationadministration.html).
#pragma once

#include "fhir/resource/datatypes.hpp"
#include "fhir/resource/related_person.hpp"
#include "fhir/spec/release.hpp"

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
        Quantity dose;  // Always there: invariant mad-1 of R4 and R4B wants a dose or a rate.
    };
    // Where it was given: a code that the code systems of all releases have ("community").
    struct Place {
        std::string code;
        std::string display;
    };

    std::string id;  // Only in an update.
    std::vector<Coding> security;
    std::vector<RelatedPerson> contained;
    std::vector<Identifier> identifier;
    std::string status;  // Required binding medication-admin-status.
    CodeableConcept status_reason;
    Place category;
    CodeableConcept medication;
    Reference subject;
    std::string effective;  // dateTime; for a dose not given, when it was due.
    std::string recorded;   // dateTime at which it was first written down.
    std::vector<Performer> performer;
    std::vector<CodeableConcept> reason;
    Reference request;  // The MedicationRequest by which it was given; may be empty.
    std::string note;
    std::optional<Dosage> dosage;
};

void put_resource(json::Value& into, const MedicationAdministration& administration, spec::Release release);

}  // namespace nightferry::fhir::resource
