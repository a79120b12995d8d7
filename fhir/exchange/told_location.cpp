#include "fhir/exchange/told_location.hpp"

#include "fhir/exchange/etag.hpp"

namespace nightferry::fhir::exchange {

namespace {

std::optional<Location> location_of_resource(const json::Value* resource) {
    if (resource == nullptr) return std::nullopt;
    const auto type = resource->string_at("resourceType");
    const auto id = resource->string_at("id");
    if (type == "OperationOutcome" || !is_type_name(type) || !is_id(id)) return std::nullopt;
    return Location{std::string(type), std::string(id), {}};
}

}  // namespace

std::optional<Location> location_told(std::string_view location, std::string_view etag,
                                      const json::Value* resource) {
    std::optional<Location> told = parse_location(location);
    if (!told) told = location_of_resource(resource);
    if (!told) return std::nullopt;
    if (told->version.empty()) told->version = version_in_etag(etag);
    const json::Value* meta = resource == nullptr ? nullptr : resource->find("meta");
    if (told->version.empty() && meta != nullptr)
        told->version = version_in_etag(meta->string_at("versionId"));
    return told;
}

}  // namespace nightferry::fhir::exchange
