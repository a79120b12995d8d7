#include "fhir/resource/datatypes.hpp"

namespace nightferry::fhir::resource {

namespace {

void fill(json::Value& into, const Coding& coding) {
    put(into, "system", coding.system);
    put(into, "code", coding.code);
    put(into, "display", coding.display);
}

void fill(json::Value& into, const CodeableConcept& concept_) {
    if (!concept_.coding.empty()) {
        json::Value& list = into.add_array("coding");
        for (const Coding& coding : concept_.coding)
            fill(list.push_object(), coding);
    }
    put(into, "text", concept_.text);
}

void fill(json::Value& into, const Identifier& identifier) {
    put(into, "system", identifier.system);
    put(into, "value", identifier.value);
}

void fill(json::Value& into, const Reference& reference) {
    put(into, "reference", reference.reference);
    put(into, "type", reference.type);
    if (reference.identifier) put(into, "identifier", *reference.identifier);
    put(into, "display", reference.display);
}

template <class T>
void fill_list(json::Value& into, std::string_view name, const std::vector<T>& items) {
    if (items.empty()) return;
    json::Value& list = into.add_array(name);
    for (const T& item : items)
        fill(list.push_object(), item);
}

}  // namespace

void put(json::Value& into, std::string_view name, std::string_view text) {
    if (!text.empty()) into.add_string(name, text);
}

void put(json::Value& into, std::string_view name, const Coding& coding) {
    fill(into.add_object(name), coding);
}

void put(json::Value& into, std::string_view name, const CodeableConcept& concept_) {
    if (is_empty(concept_)) return;
    fill(into.add_object(name), concept_);
}

void put(json::Value& into, std::string_view name, const Identifier& identifier) {
    fill(into.add_object(name), identifier);
}

void put(json::Value& into, std::string_view name, const Reference& reference) {
    fill(into.add_object(name), reference);
}

void put(json::Value& into, std::string_view name, const Quantity& quantity) {
    json::Value& object = into.add_object(name);
    object.add_number("value", quantity.value);
    put(object, "unit", quantity.unit);
    if (quantity.code.empty()) return;
    put(object, "system", ucum);
    put(object, "code", quantity.code);
}

void put(json::Value& into, std::string_view name, const Ratio& ratio) {
    json::Value& object = into.add_object(name);
    object.add_object("numerator").add_number("value", ratio.numerator);
    object.add_object("denominator").add_number("value", ratio.denominator);
}

void put(json::Value& into, std::string_view name, const Period& period) {
    json::Value& object = into.add_object(name);
    put(object, "start", period.start);
    put(object, "end", period.end);
}

void put_all(json::Value& into, std::string_view name, const std::vector<Identifier>& identifiers) {
    fill_list(into, name, identifiers);
}

void put_all(json::Value& into, std::string_view name, const std::vector<Reference>& references) {
    fill_list(into, name, references);
}

void put_all(json::Value& into, std::string_view name, const std::vector<CodeableConcept>& concepts) {
    fill_list(into, name, concepts);
}

void put_codeable(json::Value& into, std::string_view name, const CodeableConcept& concept_) {
    if (!is_empty(concept_)) put(into.add_object(name), "concept", concept_);
}

void put_codeable(json::Value& into, std::string_view name, const Reference& reference) {
    if (!is_empty(reference)) put(into.add_object(name), "reference", reference);
}

void put_all_codeable(json::Value& into, std::string_view name,
                      const std::vector<CodeableConcept>& concepts) {
    if (concepts.empty()) return;
    json::Value& list = into.add_array(name);
    for (const CodeableConcept& one : concepts)
        put(list.push_object(), "concept", one);
}

bool is_empty(const CodeableConcept& concept_) {
    return concept_.coding.empty() && concept_.text.empty();
}

bool is_empty(const Reference& reference) {
    return reference.reference.empty() && reference.type.empty() && !reference.identifier &&
           reference.display.empty();
}

void put_head(json::Value& into, std::string_view type, const std::string& id,
              const std::vector<Coding>& security) {
    put(into, "resourceType", type);
    put(into, "id", id);
    if (!security.empty()) fill_list(into.add_object("meta"), "security", security);
}

void put_note(json::Value& into, const std::string& text) {
    if (!text.empty()) put(into.add_array("note").push_object(), "text", text);
}

}  // namespace nightferry::fhir::resource
