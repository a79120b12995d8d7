// Provenance, R4 (https://hl7.org/fhir/R4/provenance.html): the elements we send.
#pragma once

#include "fhir/resource/datatypes.hpp"

namespace nightferry::fhir::resource {

struct Provenance {
    struct Agent {
        CodeableConcept type;
        Reference who;
    };

    std::string id;
    std::vector<Coding> security;
    std::vector<Reference> target;
    std::string occurred;  // dateTime
    std::string recorded;  // instant
    CodeableConcept reason;
    CodeableConcept activity;
    std::vector<Agent> agent;
};

void put_resource(json::Value& into, const Provenance& provenance);

}  // namespace nightferry::fhir::resource
