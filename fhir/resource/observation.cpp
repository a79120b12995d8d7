#include "fhir/resource/observation.hpp"

namespace nightferry::fhir::resource {

namespace {

struct PutValue {
    json::Value& into;

    void operator()(std::monostate) const {}
    void operator()(bool value) const { into.add_boolean("valueBoolean", value); }
    void operator()(const Quantity& value) const { put(into, "valueQuantity", value); }
    void operator()(const CodeableConcept& value) const { put(into, "valueCodeableConcept", value); }
    void operator()(const std::string& value) const { put(into, "valueString", std::string_view(value)); }
    void operator()(const Observation::DateTime& value) const {
        put(into, "valueDateTime", std::string_view(value.text));
    }
    void operator()(const Observation::Integer& value) const { into.add_number("valueInteger", value.text); }
    void operator()(const Ratio& value) const { put(into, "valueRatio", value); }
};

}  // namespace

void put_resource(json::Value& into, const Observation& observation, spec::Release) {
    put_head(into, "Observation", observation.id, observation.security);
    put_contained(into, observation.contained);
    put_all(into, "identifier", observation.identifier);
    put_all(into, "partOf", observation.part_of);
    put(into, "status", observation.status);
    put_all(into, "category", observation.category);
    put(into, "code", observation.code);
    put(into, "subject", observation.subject);
    put(into, "effectiveDateTime", observation.effective);
    if (observation.effective_period) put(into, "effectivePeriod", *observation.effective_period);
    put_all(into, "performer", observation.performer);
    std::visit(PutValue{into}, observation.value);
    put_note(into, observation.note);
    put(into, "bodySite", observation.body_site);
    put(into, "method", observation.method);
    if (!is_empty(observation.device)) put(into, "device", observation.device);
    if (observation.component.empty()) return;
    json::Value& list = into.add_array("component");
    for (const auto& component : observation.component) {
        json::Value& object = list.push_object();
        put(object, "code", component.code);
        std::visit(PutValue{object}, component.value);
        put(object, "dataAbsentReason", component.data_absent_reason);
    }
}

}  // namespace nightferry::fhir::resource
