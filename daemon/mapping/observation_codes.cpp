#include "daemon/mapping/observation_codes.hpp"

#include <algorithm>
#include <array>

#include "daemon/mapping/codes.hpp"

namespace nightferry::mapping {

using fhir::resource::CodeableConcept;
using fhir::resource::Coding;
using fhir::resource::loinc;

namespace {

constexpr std::string_view measured_code = "3141-9";

constexpr PartCode ours(Part part, entry::Kind of, std::string_view field, std::string_view code,
                        std::string_view text, std::string_view unit = {}) {
    return {part, of, field, local_codes, code, text, text, unit};
}

// A bruise is no wound, so the published wound measures would say too much.
constexpr std::array part_codes{
    // What ties the looks at one lesion together; no identifier, since that names one resource only.
    ours(Part::lesion, entry::Kind::finding, "lesion", "lesion", "the family's label of the lesion"),
    ours(Part::length, entry::Kind::finding, "length_cm", "length", "longest measure", "cm"),
    ours(Part::width, entry::Kind::finding, "width_cm", "width", "width across the longest measure", "cm"),
    PartCode{Part::pain, entry::Kind::finding, "pain", loinc, "72514-3",
             "Pain severity - 0-10 verbal numeric rating [Score] - Reported", "pain from 0 to 10", "{score}"},
    ours(Part::duration, entry::Kind::finding, "minutes", "duration", "how long it lasted", "min"),
    ours(Part::vial_label, entry::Kind::vial_opened, "vial", "vial-label", "the family's label of the vial"),
    ours(Part::vial_volume, entry::Kind::vial_opened, "volume_ml", "vial-volume",
         "volume printed on the vial", "mL"),
    ours(Part::lot, entry::Kind::vial_opened, "lot", "lot-number", "lot number"),
    ours(Part::expiry, entry::Kind::vial_opened, "expires", "expiry-date", "expiry date printed on the vial"),
};

}  // namespace

CodeableConcept weight_code(entry::HowWeighed how) {
    CodeableConcept result{{coding(loinc, "29463-7", "Body weight")}, "body weight"};
    if (how == entry::HowWeighed::measured)
        result.coding.push_back(coding(loinc, measured_code, "Body weight Measured"));
    return result;
}

bool says_measured(const CodeableConcept& concept_) {
    return shares_coding(concept_, {{coding(loinc, measured_code, {})}, {}});
}

std::string_view weight_words(entry::HowWeighed how) {
    return how == entry::HowWeighed::measured ? "measured at home" : "estimated at home";
}

const PartCode& part_code(Part part) {
    return *std::find_if(part_codes.begin(), part_codes.end(),
                         [&](const PartCode& one) { return one.part == part; });
}

CodeableConcept part_concept(Part part) {
    const PartCode& row = part_code(part);
    return {{coding(row.system, row.code, row.display)}, std::string(row.text)};
}

Meaning<Part> part_of(const CodeableConcept& concept_) {
    return meaning_in(
        part_codes, concept_,
        [](const PartCode& row, const Coding& one) {
            return one.system == row.system && one.code == row.code;
        },
        [](const PartCode& row) { return row.part; });
}

}  // namespace nightferry::mapping
