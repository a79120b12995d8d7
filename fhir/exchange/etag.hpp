// Versions in ETag and If-Match (RFC 9110 section 8.8.3, https://hl7.org/fhir/R4/http.html#versioning).
#pragma once

#include <string>
#include <string_view>

namespace nightferry::fhir::exchange {

// The version inside an entity tag: W/"3", "3", and without quotes (3, W/3) as some servers send it. Empty
// when there is none that could be sent back: "*", tags of several versions, characters that no tag may hold.
std::string version_in_etag(std::string_view etag);

// W/"version"
std::string etag_for(std::string_view version);

// Whether a version may stand in a tag (RFC 9110: etagc).
bool fits_in_etag(std::string_view version);

}  // namespace nightferry::fhir::exchange
