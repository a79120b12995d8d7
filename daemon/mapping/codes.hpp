// From the household's words to published codes, and back by the same tables. Each table says where its codes
// were seen; what has no verified published code goes out under our own code system with its words, never as
// a guess.
#pragma once

#include <optional>
#include <string_view>

#include "daemon/entry/entry.hpp"
#include "daemon/entry/household.hpp"
#include "daemon/mapping/meaning.hpp"
#include "fhir/resource/datatypes.hpp"

namespace nightferry::mapping {

// Our own codes, for what no published code was found. The host name is reserved (RFC 2606) and never
// resolves: the URI only names the system.
inline constexpr std::string_view local_codes = "https://nightferry.example/fhir/CodeSystem/home-record";

inline constexpr std::string_view observation_category =
    "http://terminology.hl7.org/CodeSystem/observation-category";

inline constexpr std::string_view perform_functions =
    "http://terminology.hl7.org/CodeSystem/med-admin-perform-function";
inline constexpr std::string_view participant_types =
    "http://terminology.hl7.org/CodeSystem/provenance-participant-type";
inline constexpr std::string_view data_operations = "http://terminology.hl7.org/CodeSystem/v3-DataOperation";
inline constexpr std::string_view observation_values =
    "http://terminology.hl7.org/CodeSystem/v3-ObservationValue";

fhir::resource::Coding coding(std::string_view system, std::string_view code, std::string_view display);
fhir::resource::Coding local(std::string_view code, std::string_view display);
fhir::resource::CodeableConcept local_concept(std::string_view code, std::string_view text);

// ATC and SNOMED CT codes of an anticoagulant by its nonproprietary name; only the text for another.
fhir::resource::CodeableConcept substance(const std::string& name, const std::string& text);
Meaning<std::string> substance_of(const fhir::resource::CodeableConcept& concept_);
// "enoxaparin 100 mg/mL"
std::string product_words(const entry::Medicine& medicine);

// The injection site: HL7 v3-ActSite and SNOMED CT where both are known, always with words.
fhir::resource::CodeableConcept site(const entry::Site& site);
// "left thigh, x 2.5 cm, y 0 cm"
std::string site_words(const entry::Site& site);
// The places that the codings leave possible, without coordinates.
Meaning<entry::Site> site_of(const fhir::resource::CodeableConcept& concept_);
// The place that site_words() wrote; nothing for other words.
std::optional<entry::Site> site_of_words(std::string_view words);
// Whether the codings, if any is known, can stand for this place.
bool can_be_at(const fhir::resource::CodeableConcept& concept_, const entry::Site& site);

// Only a finding that names its dose is said to come from an injection.
fhir::resource::CodeableConcept finding(const entry::Finding& finding);
Meaning<entry::FindingKind> finding_of(const fhir::resource::CodeableConcept& concept_);
// Whether one of its codes says that it comes from an injection.
bool says_injection(const fhir::resource::CodeableConcept& concept_);
// `by_the_patient`: the patient gives the doses; only then was it the patient who forgot.
fhir::resource::CodeableConcept why_not_given(entry::WhyNotGiven why, bool by_the_patient);
Meaning<entry::WhyNotGiven> why_of(const fhir::resource::CodeableConcept& concept_);

// Subcutaneous, twice coded; and injection.
fhir::resource::CodeableConcept subcutaneous_route();
fhir::resource::CodeableConcept injection_method();

// The UCUM code of a unit, and the unit of a code. UCUM writes [iU] and [IU], mL and ml, and what stands in
// braces does not count (https://ucum.org/ucum, sections 12 and 45).
std::string_view ucum_code(entry::Unit unit);
std::optional<entry::Unit> unit_of_ucum(std::string_view code);

// Whether the concept has one of these codings.
bool shares_coding(const fhir::resource::CodeableConcept& concept_,
                   const fhir::resource::CodeableConcept& ours);

}  // namespace nightferry::mapping
