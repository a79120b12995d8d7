// Building the requests that hold several interactions: transactions and batches
// (https://hl7.org/fhir/R4/http.html#transaction).
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "fhir/exchange/asked.hpp"
#include "fhir/json/document.hpp"

namespace nightferry::fhir::exchange {

// Collects the entries of one transaction (all or nothing) or batch (each on its own).
class Transaction {
 public:
    explicit Transaction(BundleKind kind = BundleKind::transaction);

    // Creates the resource unless one matches `if_none_exist` ("identifier=system|value"). Returns the place
    // where the resource is to be built. `full_url` ("urn:uuid:…") is how other entries refer to it.
    json::Value& create(std::string_view type, std::string_view full_url, std::string_view if_none_exist);
    // Replaces Type/id; only if its version is still `if_match` when that is not empty.
    json::Value& update(std::string_view type, std::string_view id, std::string_view full_url,
                        std::string_view if_match);

    std::size_t size() const { return entries_->size(); }
    const json::Value& root() const { return document_.root(); }
    std::string text() const;
    // What each entry asks for, to hold the answer against.
    std::vector<Asked> asked() const { return asked_in(document_.root()); }

 private:
    json::Value& add(std::string_view full_url);

    json::Document document_;
    json::Value* entries_;
};

}  // namespace nightferry::fhir::exchange
