// Reading what a server answers to a transaction or a batch
// (https://hl7.org/fhir/R4/http.html#transaction-response), and holding it against what was asked.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fhir/exchange/asked.hpp"
#include "fhir/exchange/location.hpp"
#include "fhir/exchange/outcome.hpp"

namespace nightferry::fhir::exchange {

// The answer to one entry.
struct EntryAnswer {
    int status = 0;  // 0 when there is none that can be read.
    // Where the resource is, from the location or from a returned resource; its version also from the etag.
    std::optional<Location> location;
    std::vector<OutcomeIssue> issues;  // Of the entry's own OperationOutcome, if any.
    std::string words;                 // The same as one line.
};

struct BundleAnswer {
    BundleKind kind = BundleKind::transaction;
    std::vector<EntryAnswer> entries;  // In the order of the request's entries.
};

// Nothing when the text is no such answer.
std::optional<BundleAnswer> read_bundle_answer(std::string_view text);

// The status that a text begins with ("200 ok", "304 Not Modified"), or 0.
int status_in(std::string_view text);

// Why an answer cannot be the answer to what was asked.
struct Mismatch {
    enum class What {
        kind,           // A batch was answered as a transaction, or the reverse.
        count,          // There are more or fewer entries.
        resource_type,  // An entry says that it is about another type of resource.
        resource_id,    // An entry says that it is about another resource than the one named.
    };
    What what;
    std::size_t entry = 0;  // Counted from 0; without meaning for `kind` and `count`.
    std::string words;      // The same for people.
};

// Nothing when the answer fits. What an entry does not say cannot contradict.
std::optional<Mismatch> find_mismatch(BundleKind kind, const std::vector<Asked>& asked,
                                      const BundleAnswer& answer);

}  // namespace nightferry::fhir::exchange
