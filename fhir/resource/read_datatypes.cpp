#include "fhir/resource/read_datatypes.hpp"

namespace nightferry::fhir::resource {

namespace {

Coding coding_in(const json::Value& value) {
    return {text_of(value, "system"), text_of(value, "code"), text_of(value, "display")};
}

bool is_text(const json::Value& value) {
    return value.is(json::Kind::string) || value.is(json::Kind::number);
}

}  // namespace

std::string text_of(const json::Value& object, std::string_view name) {
    const json::Value* member = object.find(name);
    return member != nullptr && is_text(*member) ? std::string(member->text()) : std::string();
}

std::vector<std::string> texts_of(const json::Value& object, std::string_view name) {
    std::vector<std::string> texts;
    for (const json::Value& item : object.items_at(name)) {
        if (is_text(item)) texts.emplace_back(item.text());
    }
    return texts;
}

std::optional<bool> boolean_of(const json::Value& object, std::string_view name) {
    const json::Value* member = object.find(name);
    if (member == nullptr || !member->is(json::Kind::boolean)) return std::nullopt;
    return member->boolean();
}

Identifier identifier_in(const json::Value& value) {
    return {text_of(value, "system"), text_of(value, "value")};
}

CodeableConcept concept_in(const json::Value& value) {
    CodeableConcept result;
    for (const json::Value& coding : value.items_at("coding"))
        result.coding.push_back(coding_in(coding));
    result.text = text_of(value, "text");
    return result;
}

Reference reference_in(const json::Value& value) {
    Reference result{text_of(value, "reference"), text_of(value, "type"), {}, text_of(value, "display")};
    if (const json::Value* identifier = value.find("identifier"))
        result.identifier = identifier_in(*identifier);
    return result;
}

CodeableConcept concept_of(const json::Value& object, std::string_view name) {
    const json::Value* member = object.find(name);
    return member == nullptr ? CodeableConcept() : concept_in(*member);
}

Reference reference_of(const json::Value& object, std::string_view name) {
    const json::Value* member = object.find(name);
    return member == nullptr ? Reference() : reference_in(*member);
}

std::vector<Identifier> identifiers_of(const json::Value& object, std::string_view name) {
    std::vector<Identifier> result;
    for (const json::Value& item : object.items_at(name)) {
        if (item.is(json::Kind::object)) result.push_back(identifier_in(item));
    }
    return result;
}

std::optional<Quantity> quantity_of(const json::Value& object, std::string_view name) {
    const json::Value* member = object.find(name);
    const json::Value* value = member == nullptr ? nullptr : member->find("value");
    if (value == nullptr || !value->is(json::Kind::number)) return std::nullopt;
    const bool in_ucum = member->string_at("system") == ucum;
    return Quantity{std::string(value->text()), text_of(*member, "unit"),
                    in_ucum ? text_of(*member, "code") : std::string()};
}

bool has_modifier(const json::Value& object) {
    return object.find("modifierExtension") != nullptr || object.find("implicitRules") != nullptr;
}

}  // namespace nightferry::fhir::resource
