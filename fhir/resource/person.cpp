#include "fhir/resource/person.hpp"

#include "fhir/resource/read_datatypes.hpp"

namespace nightferry::fhir::resource {

std::optional<Person> read_person(const json::Value& value) {
    const auto type = value.string_at("resourceType");
    if (type != "Patient" && type != "RelatedPerson") return std::nullopt;
    Person person;
    person.type = type;
    person.id = text_of(value, "id");
    person.identifier = identifiers_of(value, "identifier");
    person.active = boolean_of(value, "active");
    if (type == "RelatedPerson") {
        person.patient = reference_of(value, "patient");
        return person;
    }
    for (const json::Value& link : value.items_at("link")) {
        if (link.string_at("type") == "replaced-by") person.replaced_by = reference_of(link, "other");
    }
    return person;
}

}  // namespace nightferry::fhir::resource
