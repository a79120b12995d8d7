#include "fhir/resource/read_datatypes.hpp"

namespace nightferry::fhir::resource {

namespace {

Coding coding_in(const json::Value& value) {
    return {text_of(value, "system"), text_of(value, "code"), text_of(value, "display")};
}

Identifier identifier_in(const json::Value& value) {
    return {text_of(value, "system"), text_of(value, "value")};
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

CodeableConcept concept_of(const json::Value& object, std::string_view name) {
    CodeableConcept result;
    const json::Value* member = object.find(name);
    if (member == nullptr) return result;
    for (const json::Value& coding : member->items_at("coding"))
        result.coding.push_back(coding_in(coding));
    result.text = text_of(*member, "text");
    return result;
}

Reference reference_of(const json::Value& object, std::string_view name) {
    const json::Value* member = object.find(name);
    if (member == nullptr) return {};
    Reference result{
        text_of(*member, "reference"), text_of(*member, "type"), {}, text_of(*member, "display")};
    if (const json::Value* identifier = member->find("identifier"))
        result.identifier = identifier_in(*identifier);
    return result;
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
