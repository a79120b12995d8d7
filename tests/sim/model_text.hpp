// The texts that a model clinic keeps and sends, put together without building documents. Pure helpers of
// ModelClinic.
#pragma once

#include <map>
#include <string>
#include <string_view>

#include "fhir/json/document.hpp"
#include "tests/sim/dialect.hpp"
#include "tests/sim/model_store.hpp"

namespace nightferry::sim {

void append_quoted(std::string& out, std::string_view text);
std::string in_quotes(std::string_view text);

// A resource as the clinic keeps it: with its id and version, and what its dialect does to content.
std::string stored_text(const fhir::json::Value& resource, std::string_view id, std::string_view version,
                        const Does& does);
std::vector<Identifier> identifiers_of(const fhir::json::Value& resource);

// fullUrl to "Type/id".
using Places = std::map<std::string, std::string, std::less<>>;

// The text with the references replaced that name one of the places; `changed` tells whether there were any.
std::string with_places(std::string_view text, const Places& places, bool& changed);

// "1.50" as "1.5", "2.0" as "2".
std::string_view trimmed_decimal(std::string_view lexeme);

std::string outcome_text(std::string_view code, std::string_view words, std::string_view expression = {});
std::string_view web_page(int status);

// The CapabilityStatement that the claims make, or what stands in its place.
std::string metadata_text(const Dialect& dialect);
int metadata_status(Metadata metadata);

}  // namespace nightferry::sim
