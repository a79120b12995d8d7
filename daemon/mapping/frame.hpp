// What every resource of an entry has around its content.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "fhir/resource/datatypes.hpp"
#include "fhir/resource/related_person.hpp"

namespace nightferry::mapping {

struct Frame {
    std::string id;
    std::vector<fhir::resource::Coding> security;
    std::vector<fhir::resource::RelatedPerson> contained;
    std::vector<fhir::resource::Identifier> identifiers;
    fhir::resource::Reference subject;
    fhir::resource::Reference by;
    std::optional<fhir::resource::Reference> checker;
    std::optional<fhir::resource::Reference> dose;
    std::optional<fhir::resource::Reference> order = {};
};

}  // namespace nightferry::mapping
