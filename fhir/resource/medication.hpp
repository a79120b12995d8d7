// What a medicine is: Medication, read in any release (https://hl7.org/fhir/R4/medication.html,
// https://hl7.org/fhir/R5/medication.html). Also as a contained resource.
#pragma once

#include "fhir/resource/datatypes.hpp"

namespace nightferry::fhir::resource {

struct Medication {
    // So much of its only ingredient is in so much of it. A preparation of several has no such strength.
    struct Strength {
        Quantity amount;
        Quantity per;
    };
    CodeableConcept code;
    std::optional<Strength> strength;
};

// Nothing when the value is no Medication, or bears a modifier that nobody here knows.
std::optional<Medication> read_medication(const json::Value& value);

}  // namespace nightferry::fhir::resource
