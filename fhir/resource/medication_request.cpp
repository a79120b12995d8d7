#include "fhir/resource/medication_request.hpp"

#include "fhir/resource/read_datatypes.hpp"

namespace nightferry::fhir::resource {

namespace {

CodeableConcept code_of_contained(const json::Value& resource, std::string_view reference) {
    if (!reference.starts_with('#')) return {};
    for (const json::Value& contained : resource.items_at("contained")) {
        if (contained.string_at("id") == reference.substr(1)) return concept_of(contained, "code");
    }
    return {};
}

void read_medication(MedicationRequest& request, const json::Value& value) {
    if (const json::Value* either = value.find("medication")) {
        request.medication = concept_of(*either, "concept");
        request.medication_reference = reference_of(*either, "reference");
    } else {
        request.medication = concept_of(value, "medicationCodeableConcept");
        request.medication_reference = reference_of(value, "medicationReference");
    }
    if (is_empty(request.medication))
        request.medication = code_of_contained(value, request.medication_reference.reference);
}

MedicationRequest::Instruction instruction_in(const json::Value& value) {
    MedicationRequest::Instruction instruction;
    instruction.text = text_of(value, "text");
    instruction.timing = timing_of(value, "timing");
    // R4 has asNeeded[x], R5 asNeeded and asNeededFor.
    instruction.as_needed = boolean_of(value, "asNeededBoolean").value_or(false) ||
                            boolean_of(value, "asNeeded").value_or(false) ||
                            value.find("asNeededCodeableConcept") != nullptr ||
                            value.find("asNeededFor") != nullptr;
    instruction.route = concept_of(value, "route");
    const auto doses = value.items_at("doseAndRate");
    if (doses.empty()) return instruction;
    const json::Value& dose = doses.front();
    instruction.dose = quantity_of(dose, "doseQuantity");
    if (const json::Value* range = dose.find("doseRange")) {
        instruction.dose_low = quantity_of(*range, "low");
        instruction.dose_high = quantity_of(*range, "high");
    }
    return instruction;
}

}  // namespace

std::optional<MedicationRequest> read_medication_request(const json::Value& value) {
    if (value.string_at("resourceType") != "MedicationRequest") return std::nullopt;
    MedicationRequest request;
    request.id = text_of(value, "id");
    request.status = text_of(value, "status");
    request.intent = text_of(value, "intent");
    request.do_not_perform = boolean_of(value, "doNotPerform").value_or(false);
    request.has_unknown_modifier = has_modifier(value);
    request.identifier = identifiers_of(value, "identifier");
    read_medication(request, value);
    request.subject = reference_of(value, "subject");
    for (const json::Value& instruction : value.items_at("dosageInstruction")) {
        request.has_unknown_modifier = request.has_unknown_modifier || has_modifier(instruction);
        request.dosage.push_back(instruction_in(instruction));
    }
    return request;
}

}  // namespace nightferry::fhir::resource
