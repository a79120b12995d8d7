// Where a resource is, from whichever of the places a server says it in.
#pragma once

#include <optional>
#include <string_view>

#include "fhir/exchange/location.hpp"
#include "fhir/json/document.hpp"

namespace nightferry::fhir::exchange {

// From a Location (header, or in an entry of a bundle), else from the resource that was returned; the version
// also from an ETag. `resource` may be null; an OperationOutcome is about another resource than itself.
std::optional<Location> location_told(std::string_view location, std::string_view etag,
                                      const json::Value* resource);

}  // namespace nightferry::fhir::exchange
