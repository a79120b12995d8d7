#include "daemon/mapping/clinic_orders.hpp"

#include <algorithm>

#include "daemon/mapping/codes.hpp"
#include "daemon/mapping/order_doses.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/json/writer.hpp"
#include "fhir/resource/medication_request.hpp"

namespace nightferry::mapping {

namespace json = fhir::json;
using care::Recognition;
using fhir::resource::CodeableConcept;
using fhir::resource::MedicationRequest;

namespace {

void copy_members(json::Value& into, const json::Value& from, std::initializer_list<std::string_view> names) {
    for (const std::string_view name : names) {
        if (const json::Value* member = from.find(name)) into.add_copy(name, *member);
    }
}

void copy_medication(json::Value& into, const json::Value& medication) {
    copy_members(into, medication,
                 {"resourceType", "id", "implicitRules", "modifierExtension", "code", "ingredient"});
}

// The reference to a Medication that stands beside it from now on.
void put_local_reference(json::Value& into, std::string_view name, const json::Value& reference,
                         const json::Value& medication) {
    json::Value& local = into.add_object(name);
    local.add_string("reference", "#" + std::string(medication.string_at("id")));
    copy_members(local, reference, {"display"});
}

std::string lower(std::string text) {
    std::ranges::transform(text, text.begin(), [](char c) {
        return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    });
    return text;
}

std::vector<std::string> words_about(const MedicationRequest& request) {
    std::vector<std::string> words{request.medication.text};
    for (const auto& coding : request.medication.coding)
        words.push_back(coding.display);
    words.push_back(request.medication_reference.display);
    std::erase(words, "");
    return words;
}

void recognise_code(care::ClinicOrder& order, const CodeableConcept& concept_,
                    const entry::Household& household) {
    std::vector<std::string> of_substance;
    bool is_other_anticoagulant = false;
    for (const auto& coding : concept_.coding) {
        const Meaning<std::string> meant = substance_of({{coding}, {}});
        const std::string substance = meant.is_one() ? meant.values.front() : std::string();
        bool is_ours = false;
        for (const entry::Medicine& medicine : household.medicines) {
            const bool has_code = std::ranges::any_of(medicine.codes, [&](const entry::ProductCode& one) {
                return one.system == coding.system && one.code == coding.code;
            });
            if (has_code) order.medicines.push_back(medicine.key);
            if (!substance.empty() && medicine.substance == substance) of_substance.push_back(medicine.key);
            is_ours = is_ours || (!substance.empty() && medicine.substance == substance);
        }
        is_other_anticoagulant = is_other_anticoagulant || (!substance.empty() && !is_ours);
    }
    // A product's own code says more than that of its substance.
    if (order.medicines.empty()) order.medicines = std::move(of_substance);
    std::ranges::sort(order.medicines);
    const auto repeated = std::ranges::unique(order.medicines);
    order.medicines.erase(repeated.begin(), repeated.end());
    if (!order.medicines.empty()) {
        order.recognition = Recognition::by_code;
    } else if (is_other_anticoagulant) {
        order.recognition = Recognition::same_purpose;
    }
}

void recognise(care::ClinicOrder& order, const MedicationRequest& request,
               const entry::Household& household) {
    order.recognition = Recognition::other;
    recognise_code(order, request.medication, household);
    const std::vector<std::string> words = words_about(request);
    if (!words.empty()) order.medicine_words = words.front();
    if (order.recognition != Recognition::other) return;
    const auto is_in_words = [&](const std::string& name) {
        return std::ranges::any_of(
            words, [&](const std::string& one) { return lower(one).find(name) != std::string::npos; });
    };
    for (const entry::Medicine& medicine : household.medicines) {
        if (is_in_words(medicine.substance) || std::ranges::any_of(medicine.ordered_as, is_in_words))
            order.medicines.push_back(medicine.key);
    }
    if (!order.medicines.empty()) {
        order.recognition = Recognition::by_words;
    } else if (words.empty() && request.medication.coding.empty()) {
        order.recognition = Recognition::unnamed;
    }
}

care::OrderedDose dose_of(const MedicationRequest::Instruction& instruction, const Zone& home) {
    care::OrderedDose dose;
    read_amount(dose, instruction);
    read_times(dose, instruction.timing);
    read_bounds(dose, instruction.timing.bounds, home);
    if (!is_empty(instruction.route) && !shares_coding(instruction.route, subcutaneous_route())) {
        const auto& coding = instruction.route.coding;
        const std::string words = !instruction.route.text.empty() || coding.empty() ? instruction.route.text
                                                                                    : coding.front().display;
        dose.route_unclear = "the order gives a route that is not known here as under the skin" +
                             (words.empty() ? "" : ": " + words);
    }
    dose.as_needed = instruction.as_needed;
    dose.sequence = instruction.sequence;
    dose.beyond = instruction.beyond;
    dose.text = instruction.text;
    return dose;
}

}  // namespace

std::string kept_order(const json::Value& request, const json::Value* medication) {
    json::Document kept;
    json::Value& root = kept.root();
    copy_members(root, request,
                 {"resourceType", "id", "implicitRules", "modifierExtension", "status", "intent",
                  "doNotPerform", "authoredOn", "medicationCodeableConcept", "dosageInstruction"});
    const json::Value* r4 = request.find("medicationReference");
    const json::Value* r5 = request.find("medication");
    if (medication != nullptr) {
        if (r4 != nullptr) put_local_reference(root, "medicationReference", *r4, *medication);
        const json::Value* reference = r5 == nullptr ? nullptr : r5->find("reference");
        if (reference != nullptr)
            put_local_reference(root.add_object("medication"), "reference", *reference, *medication);
        copy_medication(root.add_array("contained").push_object(), *medication);
        return json::write(root);
    }
    copy_members(root, request, {"medicationReference", "medication"});
    json::Value* contained = nullptr;
    for (const json::Value& one : request.items_at("contained")) {
        if (one.string_at("resourceType") != "Medication") continue;
        if (contained == nullptr) contained = &root.add_array("contained");
        copy_medication(contained->push_object(), one);
    }
    return json::write(root);
}

std::optional<care::ClinicOrder> read_clinic_order(std::string_view kept, const entry::Household& household) {
    const auto document = json::read(kept);
    const auto request = document ? fhir::resource::read_medication_request(document->root()) : std::nullopt;
    if (!request) return std::nullopt;
    care::ClinicOrder order;
    order.id = request->id;
    order.status = request->status;
    recognise(order, *request, household);
    if (request->strength) {
        order.strength = per_millilitre(*request->strength);
        order.strength_words =
            words_of(request->strength->amount) + " in " + words_of(request->strength->per);
    }
    order.is_prohibition = request->do_not_perform;
    order.has_unknown_modifier = request->has_unknown_modifier;
    if (const auto authored = stretch_of(request->authored_on, household.zone))
        order.authored = authored->begin;
    for (const auto& instruction : request->dosage)
        order.doses.push_back(dose_of(instruction, household.zone));
    return order;
}

std::optional<OrderInForce> in_force(const care::ClinicOrder& order, std::optional<Instant> ended) {
    const bool is_sure = order.recognition == Recognition::by_code && order.medicines.size() == 1 &&
                         !order.is_prohibition && !order.has_unknown_modifier;
    if (!is_sure) return std::nullopt;
    std::optional<Instant> from;
    std::optional<Instant> until;
    bool is_open = order.doses.empty();
    for (const care::OrderedDose& dose : order.doses) {
        if (dose.from) from = std::min(from.value_or(*dose.from), *dose.from);
        if (dose.until) until = std::max(until.value_or(*dose.until), *dose.until);
        is_open = is_open || !dose.until;
    }
    if (!from) from = order.authored;
    if (!from) return std::nullopt;
    if (is_open) until.reset();
    if (ended) until = std::min(until.value_or(*ended), *ended);
    return OrderInForce{"MedicationRequest/" + order.id, order.medicines.front(), *from, until};
}

}  // namespace nightferry::mapping
