// From the household's words to published codes. Each table says where its codes were seen; what has no
// verified published code goes out under our own code system with its words, never as a guess.
#pragma once

#include <string_view>

#include "daemon/entry/entry.hpp"
#include "fhir/resource/datatypes.hpp"

namespace nightferry::mapping {

// Our own codes, for what no published code was found. The host name is reserved (RFC 2606) and never
// resolves: the URI only names the system.
inline constexpr std::string_view local_codes = "https://nightferry.example/fhir/CodeSystem/home-record";

inline constexpr std::string_view observation_category =
    "http://terminology.hl7.org/CodeSystem/observation-category";

fhir::resource::Coding coding(std::string_view system, std::string_view code, std::string_view display);
fhir::resource::Coding local(std::string_view code, std::string_view display);
fhir::resource::CodeableConcept local_concept(std::string_view code, std::string_view text);

// ATC and SNOMED CT codes of an anticoagulant by its nonproprietary name; only the text for another.
fhir::resource::CodeableConcept substance(const std::string& name, const std::string& text);

// The injection site: HL7 v3-ActSite and SNOMED CT where both are known, always with words.
fhir::resource::CodeableConcept site(const entry::Site& site);
// "left thigh, x 2.5 cm, y 0 cm"
std::string site_words(const entry::Site& site);

// Only a finding that names its dose is said to come from an injection.
fhir::resource::CodeableConcept finding(const entry::Finding& finding);
// `by_the_patient`: the patient gives the doses; only then was it the patient who forgot.
fhir::resource::CodeableConcept why_not_given(entry::WhyNotGiven why, bool by_the_patient);

// Subcutaneous, twice coded; and injection.
fhir::resource::CodeableConcept subcutaneous_route();
fhir::resource::CodeableConcept injection_method();

// The UCUM code of a unit, and how people write it.
std::string_view ucum_code(entry::Unit unit);

}  // namespace nightferry::mapping
