// RelatedPerson inside the resource that names it (https://hl7.org/fhir/R4/references.html#contained,
// https://hl7.org/fhir/R4/relatedperson.html; among what is put here, R4B and R5 are the same): for somebody
// whom the server does not keep as a record of its own.
#pragma once

#include <string>
#include <vector>

#include "fhir/resource/datatypes.hpp"

namespace nightferry::fhir::resource {

struct RelatedPerson {
    std::string id;  // Within the resource; "#id" refers to it.
    Identifier identifier;
    Reference patient;
    std::string name;  // As people write it.
};

// contained: these; nothing when there are none.
void put_contained(json::Value& into, const std::vector<RelatedPerson>& persons);

}  // namespace nightferry::fhir::resource
