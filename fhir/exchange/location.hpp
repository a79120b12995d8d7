// Where a server keeps a resource, as it says in Location headers and bundle entries
// (https://hl7.org/fhir/R4/http.html#create).
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace nightferry::fhir::exchange {

// Type, id and version of a stored resource.
struct Location {
    std::string type;
    std::string id;
    std::string version;  // Empty when unknown.

    std::string reference() const { return type + "/" + id; }
};

// Reads "Type/id" and "Type/id/_history/v", also behind a base URL or other path segments, with a slash or a
// query at the end, and percent-encoded; nothing for anything else. The parts can be sent back safely: they
// hold no characters that an address or a header gives a meaning.
std::optional<Location> parse_location(std::string_view text);

// Whether this can be a type of resource, and a resource's id.
bool is_type_name(std::string_view text);
bool is_id(std::string_view text);

}  // namespace nightferry::fhir::exchange
