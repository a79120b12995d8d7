// What a clinic has ordered: MedicationRequest, read in any release
// (https://hl7.org/fhir/R4/medicationrequest.html, https://hl7.org/fhir/R5/medicationrequest.html). R5 writes
// the medicine as a CodeableReference; both shapes read the same.
#pragma once

#include "fhir/resource/medication.hpp"
#include "fhir/resource/timing.hpp"

namespace nightferry::fhir::resource {

struct MedicationRequest {
    // One way of taking it. A dose is a quantity, or lies between low and high; decimals keep their text.
    struct Instruction {
        std::string sequence;  // The same number: at the same time; different ones: one after another.
        std::string text;
        Timing timing;
        bool as_needed = false;
        CodeableConcept route;
        std::optional<Quantity> dose;
        std::optional<Quantity> dose_low;
        std::optional<Quantity> dose_high;
        bool has_more_doses = false;  // Beside the one above, as when what was ordered was computed from it.
        bool has_rate = false;
        // Names of what it says besides, such as "maxDosePerPeriod" and "timing.repeat.count".
        std::vector<std::string> beyond;
    };

    std::string id;
    std::string status;  // medicationrequest-status: only "active" is in force.
    std::string intent;  // medicationrequest-intent: only an order is one.
    bool do_not_perform = false;
    // Something in it changes its meaning in a way that nobody here knows: not to be acted on.
    bool has_unknown_modifier = false;
    std::vector<Identifier> identifier;
    std::string authored_on;                       // dateTime
    CodeableConcept medication;                    // Also that of a contained Medication,
    std::optional<Medication::Strength> strength;  // which may tell this.
    Reference medication_reference;                // Where it is a resource of its own.
    Reference subject;
    std::vector<Instruction> dosage;
};

// Nothing when the value is no MedicationRequest.
std::optional<MedicationRequest> read_medication_request(const json::Value& value);

}  // namespace nightferry::fhir::resource
