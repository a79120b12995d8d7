#include "fhir/resource/related_person.hpp"

namespace nightferry::fhir::resource {

void put_contained(json::Value& into, const std::vector<RelatedPerson>& persons) {
    if (persons.empty()) return;
    json::Value& list = into.add_array("contained");
    for (const RelatedPerson& person : persons) {
        json::Value& object = list.push_object();
        put_head(object, "RelatedPerson", person.id, {});
        put_all(object, "identifier", std::vector{person.identifier});
        put(object, "patient", person.patient);
        put(object.add_array("name").push_object(), "text", person.name);
    }
}

}  // namespace nightferry::fhir::resource
