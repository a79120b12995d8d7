#include "fhir/resource/medication.hpp"

#include "fhir/resource/read_datatypes.hpp"

namespace nightferry::fhir::resource {

namespace {

// R4 has a Ratio in `strength`; R5 makes a choice of it.
std::optional<Medication::Strength> strength_in(const json::Value& ingredient) {
    const json::Value* ratio = ingredient.find("strength");
    if (ratio == nullptr) ratio = ingredient.find("strengthRatio");
    if (ratio == nullptr) return std::nullopt;
    auto amount = quantity_of(*ratio, "numerator");
    auto per = quantity_of(*ratio, "denominator");
    if (!amount || !per) return std::nullopt;
    return Medication::Strength{std::move(*amount), std::move(*per)};
}

}  // namespace

std::optional<Medication> read_medication(const json::Value& value) {
    if (value.string_at("resourceType") != "Medication" || has_modifier(value)) return std::nullopt;
    Medication medication{concept_of(value, "code"), {}};
    const json::Value* only = nullptr;
    for (const json::Value& ingredient : value.items_at("ingredient")) {
        if (!boolean_of(ingredient, "isActive").value_or(true)) continue;
        if (only != nullptr) return medication;
        only = &ingredient;
    }
    if (only != nullptr) medication.strength = strength_in(*only);
    return medication;
}

}  // namespace nightferry::fhir::resource
