// Transaction bundles: building the request, reading the answer
// (https://hl7.org/fhir/R4/http.html#transaction).
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fhir/json/document.hpp"

namespace nightferry::fhir::exchange {

// Type, id and version of a stored resource.
struct Location {
    std::string type;
    std::string id;
    std::string version;  // Empty when unknown.

    std::string reference() const { return type + "/" + id; }
};

// Reads "Type/id", "Type/id/_history/v", or either behind a base URL; nothing for anything else.
std::optional<Location> parse_location(std::string_view text);

// The version inside an ETag: W/"3", "3", and without quotes as some servers send it.
std::string version_in_etag(std::string_view etag);
std::string etag_for(std::string_view version);

// Collects the entries of one transaction.
class Transaction {
 public:
    Transaction();

    // Creates the resource unless one matches `if_none_exist` ("identifier=system|value"). Returns the place
    // where the resource is to be built. `full_url` ("urn:uuid:…") is how other entries refer to it.
    json::Value& create(std::string_view type, std::string_view full_url, std::string_view if_none_exist);
    // Replaces Type/id; only if its version is still `if_match` when that is not empty.
    json::Value& update(std::string_view type, std::string_view id, std::string_view full_url,
                        std::string_view if_match);

    std::size_t size() const { return entries_->size(); }
    std::string text() const;

 private:
    json::Value& add(std::string_view full_url);

    json::Document document_;
    json::Value* entries_;
};

// One entry of a transaction-response or batch-response.
struct EntryAnswer {
    int status = 0;  // 0 when the entry has none that can be read.
    std::optional<Location> location;
    std::string words;  // The entry's own OperationOutcome, if any.
};

// The answers in the order of the request's entries; nothing when the text is no such bundle.
std::optional<std::vector<EntryAnswer>> read_transaction_answer(std::string_view text);

}  // namespace nightferry::fhir::exchange
