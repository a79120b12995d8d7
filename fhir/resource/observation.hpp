// Observation: the elements we send, in any release (https://hl7.org/fhir/R4/observation.html,
// https://hl7.org/fhir/R5/observation.html). Among them nothing differs between R4, R4B and R5.
#pragma once

#include <variant>

#include "fhir/resource/datatypes.hpp"
#include "fhir/resource/related_person.hpp"
#include "fhir/spec/release.hpp"

namespace nightferry::fhir::resource {

struct Observation {
    struct DateTime {
        std::string text;
    };
    struct Integer {
        std::string text;
    };
    using Value =
        std::variant<std::monostate, bool, Quantity, CodeableConcept, std::string, DateTime, Integer, Ratio>;
    struct Component {
        CodeableConcept code;
        Value value;
        CodeableConcept data_absent_reason = {};  // Only without a value.
    };

    std::string id;  // Only in an update.
    std::vector<Coding> security;
    std::vector<RelatedPerson> contained;
    std::vector<Identifier> identifier;
    std::vector<Reference> part_of;
    std::string status;  // Required binding observation-status.
    std::vector<CodeableConcept> category;
    CodeableConcept code;
    Reference subject;
    std::string effective;                   // dateTime,
    std::optional<Period> effective_period;  // or this.
    std::vector<Reference> performer;
    Value value;
    std::string note;
    CodeableConcept body_site;
    CodeableConcept method;
    Reference device;
    std::vector<Component> component;
};

void put_resource(json::Value& into, const Observation& observation, spec::Release release);

}  // namespace nightferry::fhir::resource
