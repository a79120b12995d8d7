// What a server answers to a search, and how to tell whether a match is the resource that was meant.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fhir/exchange/location.hpp"
#include "fhir/exchange/outcome.hpp"
#include "fhir/json/document.hpp"

namespace nightferry::fhir::exchange {

struct Found {
    Location location;
    const json::Value* resource;  // In the document of the answer.
};

// Whether a resource bears this business identifier.
bool bears_identifier(const json::Value& resource, std::string_view system, std::string_view value);

// One page of a searchset (https://hl7.org/fhir/R4/bundle.html#searchset).
struct SearchAnswer {
    json::Document document;
    // Without what was included for the matches' sake. A resource without an id cannot be a match.
    std::vector<Found> matches;
    std::optional<std::uint64_t> total;  // How many match in all, where the server says so.
    std::string next;                    // The link to the next page as given; empty on the last one.
    std::vector<OutcomeIssue> issues;    // What the server had to say about the search itself.

    // Whether these are all the matches there are. A server may count without listing, or list by pages.
    bool is_complete() const { return next.empty() && total.value_or(0) <= matches.size(); }
};

// Nothing when the text is no searchset.
std::optional<SearchAnswer> read_search_answer(std::string_view text);

}  // namespace nightferry::fhir::exchange
