// Finding resources by business identifier, and reading single resources.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fhir/exchange/bundle.hpp"
#include "fhir/json/document.hpp"

namespace nightferry::fhir::exchange {

// "identifier=system|value" with each part percent-encoded as a query needs it; the form that
// ifNoneExist and a search URL share.
std::string identifier_query(std::string_view system, std::string_view value);

// A resource as a server returned it.
struct Found {
    Location location;
    std::string text;  // Its JSON.
};

// One resource from the body of a read; nothing when it is none with an id.
std::optional<Found> read_resource(std::string_view text);

// Whether a resource bears this business identifier.
bool bears_identifier(std::string_view resource, std::string_view system, std::string_view value);

// The matches of a searchset (entries of mode "include" and "outcome" are left out); nothing when the text
// is no searchset.
std::optional<std::vector<Found>> read_search_answer(std::string_view text);

}  // namespace nightferry::fhir::exchange
