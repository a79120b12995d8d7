// Provenance: the elements we send, in any release (https://hl7.org/fhir/R4/provenance.html,
// https://hl7.org/fhir/R5/provenance.html). R5 calls the reason an authorization.
#pragma once

#include "fhir/resource/datatypes.hpp"
#include "fhir/resource/related_person.hpp"
#include "fhir/spec/release.hpp"

namespace nightferry::fhir::resource {

struct Provenance {
    struct Agent {
        CodeableConcept type;
        Reference who;
    };

    std::string id;
    std::vector<Coding> security;
    std::vector<RelatedPerson> contained;
    std::vector<Reference> target;
    std::string occurred;  // dateTime
    std::string recorded;  // instant
    CodeableConcept reason;
    CodeableConcept activity;
    std::vector<Agent> agent;
};

void put_resource(json::Value& into, const Provenance& provenance, spec::Release release);

}  // namespace nightferry::fhir::resource
