// The part of codes.hpp on what carers say: findings, and why a dose was not given.
#include <algorithm>
#include <array>

#include "daemon/entry/vocabulary.hpp"
#include "daemon/mapping/codes.hpp"

namespace nightferry::mapping {

using fhir::resource::CodeableConcept;
using fhir::resource::Coding;
using fhir::resource::snomed;

namespace {

constexpr std::string_view act_reason = "http://terminology.hl7.org/CodeSystem/v3-ActReason";

// A published concept; an empty code says that no verified one was found.
struct Published {
    std::string_view code;
    std::string_view display;
};

struct FindingCode {
    entry::FindingKind kind;
    std::string_view text;
    Published anywhere;           // Says nothing of an injection.
    Published at_injection_site;  // Only when the dose is known.
};

constexpr FindingCode same_everywhere(entry::FindingKind kind, std::string_view text, Published concept_) {
    return {kind, text, concept_, concept_};
}
constexpr FindingCode only_ours(entry::FindingKind kind, std::string_view text) {
    return {kind, text, {}, {}};
}

// SNOMED CT Global Patient Set, fully specified names.
constexpr std::array finding_codes{
    FindingCode{entry::FindingKind::bruise,
                "bruise",
                {"302227002", "Ecchymosis (finding)"},
                {"95401009", "Injection site bruising (disorder)"}},
    same_everywhere(entry::FindingKind::haematoma, "haematoma", {"385494008", "Hematoma (disorder)"}),
    FindingCode{entry::FindingKind::lump,
                "lump",
                {"444905003", "Mass of soft tissue (finding)"},
                {"95395009", "Injection site mass (disorder)"}},
    FindingCode{entry::FindingKind::hardening,
                "hardening",
                {"34319007", "Induration of skin (disorder)"},
                {"95402002", "Injection site induration (disorder)"}},
    FindingCode{entry::FindingKind::site_bleeding,
                "bleeding at this place",
                {"131148009", "Bleeding (finding)"},
                {"95385002", "Injection site hemorrhage (disorder)"}},
    same_everywhere(entry::FindingKind::redness, "redness", {"444827008", "Erythema of skin (finding)"}),
    FindingCode{
        entry::FindingKind::pain, "pain at this place", {}, {"95388000", "Injection site pain (disorder)"}},
    FindingCode{entry::FindingKind::swelling,
                "swelling",
                {"65124004", "Swelling (finding)"},
                {"95392007", "Injection site edema (disorder)"}},
    same_everywhere(entry::FindingKind::itching, "itching", {"418363000", "Itching of skin (finding)"}),
    FindingCode{entry::FindingKind::hives, "hives", {}, {"95394008", "Injection site urticaria (disorder)"}},
    FindingCode{entry::FindingKind::infection_signs,
                "looks infected to the carer",
                {},
                {"95381006", "Injection site infection (disorder)"}},
    FindingCode{entry::FindingKind::dead_skin,
                "dark or dead skin as seen by the carer",
                {},
                {"95397001", "Injection site necrosis (disorder)"}},
    FindingCode{entry::FindingKind::leak,
                "leak at this place",
                {},
                {"95384003", "Injection site extravasation (disorder)"}},
    FindingCode{entry::FindingKind::colour_change,
                "colour change",
                {},
                {"95380007", "Injection site pigmentation change (disorder)"}},
    FindingCode{
        entry::FindingKind::numbness, "numbness", {}, {"95398006", "Injection site anesthesia (disorder)"}},
    // These go out under our codes alone, with their words.
    only_ours(entry::FindingKind::nosebleed, "nosebleed"),
    only_ours(entry::FindingKind::gum_bleeding, "bleeding gums"),
    only_ours(entry::FindingKind::blood_in_urine, "blood in the urine, as the carer saw it"),
    only_ours(entry::FindingKind::dark_stool, "black or red stool, as the carer saw it"),
    only_ours(entry::FindingKind::head_injury, "head injury"),
    only_ours(entry::FindingKind::other, "other finding"),
};

struct ReasonCode {
    entry::WhyNotGiven why;
    std::string_view system;
    std::string_view code;
    std::string_view display;
    std::string_view text;
};

// SNOMED CT: published quality-measure value sets (patient and system reasons), Global Patient Set.
// v3-ActReason: R4 examples package.
constexpr std::array reason_codes{
    // Mostly a carer forgot, so nothing published says more than that the dose was not given.
    ReasonCode{entry::WhyNotGiven::forgot, snomed, "371900001", "Medication not administered (situation)",
               "forgotten"},
    ReasonCode{entry::WhyNotGiven::refused, snomed, "406149000", "Medication refused (situation)",
               "refused by the person"},
    ReasonCode{entry::WhyNotGiven::clinic_hold, snomed, "371900001",
               "Medication not administered (situation)",
               "left out on the clinic's instruction, as the carer recorded it"},
    ReasonCode{entry::WhyNotGiven::out_of_stock, snomed, "182856006",
               "Drug not available - out of stock (finding)", "no medicine left"},
    ReasonCode{entry::WhyNotGiven::not_at_hand, snomed, "242990004",
               "Drug not available for administration (event)", "medicine not at hand"},
    ReasonCode{entry::WhyNotGiven::in_hospital, act_reason, "HOSPADM", "admission to hospital",
               "in hospital"},
    ReasonCode{entry::WhyNotGiven::unwell, snomed, "371900001", "Medication not administered (situation)",
               "the person was unwell"},
    ReasonCode{entry::WhyNotGiven::other, snomed, "371900001", "Medication not administered (situation)",
               "another reason"},
};

constexpr ReasonCode patient_forgot{entry::WhyNotGiven::forgot, snomed, "408367005",
                                    "Patient forgets to take medication (finding)", "forgotten"};

}  // namespace

CodeableConcept finding(const entry::Finding& finding) {
    const auto it = std::find_if(finding_codes.begin(), finding_codes.end(),
                                 [&](const FindingCode& one) { return one.kind == finding.what; });
    CodeableConcept result;
    result.text = it->text;
    const Published& published = finding.dose ? it->at_injection_site : it->anywhere;
    if (!published.code.empty()) result.coding.push_back(coding(snomed, published.code, published.display));
    result.coding.push_back(local(entry::word_for(finding.what), it->text));
    return result;
}

Meaning<entry::FindingKind> finding_of(const CodeableConcept& concept_) {
    return meaning_in(
        finding_codes, concept_,
        [](const FindingCode& row, const Coding& one) {
            if (one.code.empty()) return false;
            if (one.system == local_codes) return one.code == entry::word_for(row.kind);
            return one.system == snomed &&
                   (one.code == row.anywhere.code || one.code == row.at_injection_site.code);
        },
        [](const FindingCode& row) { return row.kind; });
}

bool says_injection(const CodeableConcept& concept_) {
    return std::any_of(finding_codes.begin(), finding_codes.end(), [&](const FindingCode& row) {
        const Published& injection = row.at_injection_site;
        return !injection.code.empty() && injection.code != row.anywhere.code &&
               shares_coding(concept_, {{coding(snomed, injection.code, {})}, {}});
    });
}

CodeableConcept why_not_given(entry::WhyNotGiven why, bool by_the_patient) {
    const ReasonCode* reason = std::find_if(reason_codes.begin(), reason_codes.end(),
                                            [&](const ReasonCode& one) { return one.why == why; });
    if (why == entry::WhyNotGiven::forgot && by_the_patient) reason = &patient_forgot;
    return {
        {coding(reason->system, reason->code, reason->display), local(entry::word_for(why), reason->text)},
        std::string(reason->text)};
}

Meaning<entry::WhyNotGiven> why_of(const CodeableConcept& concept_) {
    std::vector<ReasonCode> rows(reason_codes.begin(), reason_codes.end());
    rows.push_back(patient_forgot);
    auto meaning = meaning_in(
        rows, concept_,
        [](const ReasonCode& row, const Coding& one) {
            if (one.system == local_codes) return one.code == entry::word_for(row.why);
            return one.system == row.system && one.code == row.code;
        },
        [](const ReasonCode& row) { return row.why; });
    std::sort(meaning.values.begin(), meaning.values.end());
    meaning.values.erase(std::unique(meaning.values.begin(), meaning.values.end()), meaning.values.end());
    return meaning;
}

}  // namespace nightferry::mapping
