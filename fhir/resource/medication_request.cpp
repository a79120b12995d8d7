#include "fhir/resource/medication_request.hpp"

#include <algorithm>
#include <iterator>

#include "fhir/resource/read_datatypes.hpp"

namespace nightferry::fhir::resource {

namespace {

std::optional<Medication> contained_medication(const json::Value& resource, std::string_view reference) {
    if (!reference.starts_with('#')) return std::nullopt;
    for (const json::Value& contained : resource.items_at("contained")) {
        if (contained.string_at("id") == reference.substr(1)) return read_medication(contained);
    }
    return std::nullopt;
}

// What the members are called that are none of the known ones, each behind `prefix`.
void add_names_beyond(std::vector<std::string>& names, const json::Value& object, const std::string& prefix,
                      std::initializer_list<std::string_view> known) {
    for (const json::Value& member : object) {
        const std::string_view name = member.name();
        if (name.starts_with('_') || std::find(known.begin(), known.end(), name) != known.end()) continue;
        names.push_back(prefix + std::string(name));
    }
}

std::vector<std::string> beyond(const json::Value& instruction) {
    std::vector<std::string> names;
    add_names_beyond(names, instruction, "",
                     {"id", "sequence", "text", "timing", "asNeededBoolean", "asNeededCodeableConcept",
                      "asNeeded", "asNeededFor", "route", "doseAndRate"});
    const json::Value* timing = instruction.find("timing");
    const json::Value* repeat = timing == nullptr ? nullptr : timing->find("repeat");
    if (repeat == nullptr) return names;
    add_names_beyond(names, *repeat, "timing.repeat.",
                     {"id", "boundsDuration", "boundsRange", "boundsPeriod", "frequency", "frequencyMax",
                      "period", "periodMax", "periodUnit", "dayOfWeek", "timeOfDay", "when"});
    return names;
}

void read_medication(MedicationRequest& request, const json::Value& value) {
    if (const json::Value* either = value.find("medication")) {
        request.medication = concept_of(*either, "concept");
        request.medication_reference = reference_of(*either, "reference");
    } else {
        request.medication = concept_of(value, "medicationCodeableConcept");
        request.medication_reference = reference_of(value, "medicationReference");
    }
    auto contained = contained_medication(value, request.medication_reference.reference);
    if (!contained) return;
    if (is_empty(request.medication)) request.medication = std::move(contained->code);
    request.strength = std::move(contained->strength);
}

MedicationRequest::Instruction instruction_in(const json::Value& value) {
    MedicationRequest::Instruction instruction;
    instruction.sequence = text_of(value, "sequence");
    instruction.text = text_of(value, "text");
    instruction.beyond = beyond(value);
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
    instruction.has_more_doses = std::next(doses.begin()) != doses.end();
    for (const char* rate : {"rateRatio", "rateRange", "rateQuantity"})
        instruction.has_rate = instruction.has_rate || dose.find(rate) != nullptr;
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
    request.authored_on = text_of(value, "authoredOn");
    read_medication(request, value);
    request.subject = reference_of(value, "subject");
    for (const json::Value& instruction : value.items_at("dosageInstruction")) {
        request.has_unknown_modifier = request.has_unknown_modifier || has_modifier(instruction);
        request.dosage.push_back(instruction_in(instruction));
    }
    return request;
}

}  // namespace nightferry::fhir::resource
