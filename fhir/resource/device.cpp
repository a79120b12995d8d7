#include "fhir/resource/device.hpp"

namespace nightferry::fhir::resource {

void put_resource(json::Value& into, const Device& device, spec::Release release) {
    const bool r5 = release == spec::Release::r5;
    put_head(into, "Device", device.id, {});
    put_all(into, "identifier", device.identifier);
    put(into, "status", device.status);
    if (!device.name.empty()) {
        json::Value& name = into.add_array(r5 ? "name" : "deviceName").push_object();
        put(name, r5 ? "value" : "name", device.name);
        put(name, "type", "user-friendly-name");
    }
    if (r5) {
        if (!is_empty(device.type)) put_all(into, "type", std::vector{device.type});
    } else {
        put(into, "type", device.type);
    }
    if (!device.version.empty()) put(into.add_array("version").push_object(), "value", device.version);
    if (!r5 && !is_empty(device.patient)) put(into, "patient", device.patient);
}

}  // namespace nightferry::fhir::resource
