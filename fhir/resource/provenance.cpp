#include "fhir/resource/provenance.hpp"

namespace nightferry::fhir::resource {

void put_resource(json::Value& into, const Provenance& provenance, spec::Release release) {
    put_head(into, "Provenance", provenance.id, provenance.security);
    put_contained(into, provenance.contained);
    put_all(into, "target", provenance.target);
    put(into, "occurredDateTime", provenance.occurred);
    put(into, "recorded", provenance.recorded);
    if (!is_empty(provenance.reason)) {
        if (release == spec::Release::r5) {
            put_all_codeable(into, "authorization", std::vector{provenance.reason});
        } else {
            put_all(into, "reason", std::vector{provenance.reason});
        }
    }
    put(into, "activity", provenance.activity);
    json::Value& list = into.add_array("agent");
    for (const auto& agent : provenance.agent) {
        json::Value& object = list.push_object();
        put(object, "type", agent.type);
        put(object, "who", agent.who);
    }
}

}  // namespace nightferry::fhir::resource
