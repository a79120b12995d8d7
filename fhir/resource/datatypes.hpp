// The FHIR data types that our resources use (https://hl7.org/fhir/R4/datatypes.html), as plain values, and
// how each is put into a JSON object. Their JSON is the same in R4, R4B and R5. Empty parts are left out:
// FHIR allows no empty text, list or object.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fhir/json/document.hpp"

namespace nightferry::fhir::resource {

struct Coding {
    std::string system;
    std::string code;
    std::string display;
};

struct CodeableConcept {
    std::vector<Coding> coding;
    std::string text;
};

struct Identifier {
    std::string system;
    std::string value;
};

// A literal reference ("RelatedPerson/r1" or "urn:uuid:…"), or a logical one by type and identifier for
// what the server may not host.
struct Reference {
    std::string reference;
    std::string type;
    std::optional<Identifier> identifier;
    std::string display;
};

struct Quantity {
    std::string value;  // The decimal's exact text.
    std::string unit;   // For people.
    std::string code;   // UCUM; the system is added when this is set.
};

// Of two plain numbers: so many of so many.
struct Ratio {
    std::string numerator;
    std::string denominator;
};

struct Period {
    std::string start;  // dateTime
    std::string end;
};

inline constexpr std::string_view ucum = "http://unitsofmeasure.org";
inline constexpr std::string_view loinc = "http://loinc.org";
inline constexpr std::string_view snomed = "http://snomed.info/sct";

void put(json::Value& into, std::string_view name, std::string_view text);
void put(json::Value& into, std::string_view name, const Coding& coding);
void put(json::Value& into, std::string_view name, const CodeableConcept& concept_);
void put(json::Value& into, std::string_view name, const Identifier& identifier);
void put(json::Value& into, std::string_view name, const Reference& reference);
void put(json::Value& into, std::string_view name, const Quantity& quantity);
void put(json::Value& into, std::string_view name, const Ratio& ratio);
void put(json::Value& into, std::string_view name, const Period& period);

// A list of them; nothing when the list is empty.
void put_all(json::Value& into, std::string_view name, const std::vector<Identifier>& identifiers);
void put_all(json::Value& into, std::string_view name, const std::vector<Reference>& references);
void put_all(json::Value& into, std::string_view name, const std::vector<CodeableConcept>& concepts);

// A CodeableReference (https://hl7.org/fhir/R5/references.html#codeablereference, new in R5) that says what,
// and one that says where.
void put_codeable(json::Value& into, std::string_view name, const CodeableConcept& concept_);
void put_codeable(json::Value& into, std::string_view name, const Reference& reference);
void put_all_codeable(json::Value& into, std::string_view name, const std::vector<CodeableConcept>& concepts);

bool is_empty(const CodeableConcept& concept_);
bool is_empty(const Reference& reference);

// resourceType, id (when set) and meta.security.
void put_head(json::Value& into, std::string_view type, const std::string& id,
              const std::vector<Coding>& security);

// note: one Annotation with this text, or nothing.
void put_note(json::Value& into, const std::string& text);

}  // namespace nightferry::fhir::resource
