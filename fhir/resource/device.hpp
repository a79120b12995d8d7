// Device: the hub itself, as far as we describe it to a clinic, in any release.
//
// The struct is release-neutral; what a release lacks is left out:
//   patient   R4 and R4B only (R5 has DeviceAssociation instead).
// The rest exists everywhere, under names and in shapes that put_resource knows
// (https://hl7.org/fhir/R4/device.html, https://hl7.org/fhir/R5/device.html).
#pragma once

#include "fhir/resource/datatypes.hpp"
#include "fhir/spec/release.hpp"

namespace nightferry::fhir::resource {

struct Device {
    std::string id;
    std::vector<Identifier> identifier;
    std::string status;  // Required binding device-status; every release has active and inactive.
    std::string name;    // Goes out as a user-friendly-name, which every release has.
    CodeableConcept type;
    std::string version;  // Of its software.
    Reference patient;    // Whom it belongs to.
};

void put_resource(json::Value& into, const Device& device, spec::Release release);

}  // namespace nightferry::fhir::resource
