// The published releases of FHIR that this library knows.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

namespace nightferry::fhir::spec {

enum class Release : std::uint8_t { r4, r4b, r5 };

inline constexpr Release releases[] = {Release::r4, Release::r4b, Release::r5};

// "R4", "R4B", "R5".
std::string_view name_of(Release release);

// What CapabilityStatement.fhirVersion says: "4.0.1", "4.3.0", "5.0.0".
std::string_view version_of(Release release);

// The release that a fhirVersion ("4.0.1", "4.0", "4.3.0-cibuild", "5.0.0") belongs to; nothing for releases
// that this library does not know.
std::optional<Release> release_of_version(std::string_view version);

}  // namespace nightferry::fhir::spec
