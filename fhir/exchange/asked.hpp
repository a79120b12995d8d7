// What the entries of a transaction or batch ask for, as far as an answer can be held against it.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "fhir/json/document.hpp"

namespace nightferry::fhir::exchange {

enum class BundleKind : std::uint8_t { transaction, batch };

struct Asked {
    std::string method;  // "POST", "PUT", …
    // Of the resource the answer is about; empty when that is open (a search, an operation).
    std::string type;
    std::string id;  // Empty unless the request names one resource.
};

// One per entry, in order.
std::vector<Asked> asked_in(const json::Value& bundle);

}  // namespace nightferry::fhir::exchange
