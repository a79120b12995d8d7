// How our Observations are coded, for both directions: by their code, and part by part in components.
#pragma once

#include <string_view>

#include "daemon/entry/entry.hpp"
#include "daemon/mapping/meaning.hpp"
#include "fhir/resource/datatypes.hpp"

namespace nightferry::mapping {

inline constexpr std::string_view vial_opened_code = "vial-opened";
inline constexpr std::string_view summary_of_day_code = "summary-of-day";
inline constexpr std::string_view summary_of_week_code = "summary-of-week";

// LOINC 29463-7, and 3141-9 beside it for a weight that was measured.
fhir::resource::CodeableConcept weight_code(entry::HowWeighed how);
// Whether it has the code that only a measured weight has.
bool says_measured(const fhir::resource::CodeableConcept& concept_);
std::string_view weight_words(entry::HowWeighed how);

// What stands in a component.
enum class Part { lesion, length, width, pain, duration, vial_label, vial_volume, lot, expiry };

struct PartCode {
    Part part;
    entry::Kind of;
    std::string_view field;  // Of the entry format.
    std::string_view system;
    std::string_view code;
    std::string_view display;
    std::string_view text;
    std::string_view unit;  // UCUM; empty for a text or a date.
};

const PartCode& part_code(Part part);
fhir::resource::CodeableConcept part_concept(Part part);
Meaning<Part> part_of(const fhir::resource::CodeableConcept& concept_);

}  // namespace nightferry::mapping
