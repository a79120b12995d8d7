#include "fhir/resource/provenance.hpp"

namespace nightferry::fhir::resource {

void put_resource(json::Value& into, const Provenance& provenance) {
    put_head(into, "Provenance", provenance.id, provenance.security);
    put_all(into, "target", provenance.target);
    put(into, "occurredDateTime", provenance.occurred);
    put(into, "recorded", provenance.recorded);
    if (!provenance.reason.text.empty() || !provenance.reason.coding.empty()) {
        put_all(into, "reason", std::vector{provenance.reason});
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
