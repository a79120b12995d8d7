// People as a clinic knows them: Patient and RelatedPerson, read in any release
// (https://hl7.org/fhir/R4/patient.html, https://hl7.org/fhir/R4/relatedperson.html). Only what tells who is
// meant; names stay at the clinic.
#pragma once

#include "fhir/resource/datatypes.hpp"

namespace nightferry::fhir::resource {

struct Person {
    std::string type;  // "Patient" or "RelatedPerson".
    std::string id;
    std::vector<Identifier> identifier;
    std::optional<bool> active;            // A record that is not active must not be written about.
    Reference patient;                     // Of a RelatedPerson: to whom.
    std::optional<Reference> replaced_by;  // Of a Patient: the record that counts instead of this one.
};

// Nothing when the value is neither.
std::optional<Person> read_person(const json::Value& value);

}  // namespace nightferry::fhir::resource
