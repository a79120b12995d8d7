// How a clinic's FHIR server behaves for good, and what it says about itself. The two are kept apart, so that
// a server can claim more or less than it does.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/core/ports.hpp"

namespace nightferry::sim {

// What a server makes of a part of a request that it need not support.
enum class Support {
    honoured,
    ignored,   // As if it were not there.
    rejected,  // The request is refused because of it.
};

// How identifiers can be searched for.
enum class IdentifierSearch {
    honoured,
    ignored,        // Everything of that type is found.
    finds_nothing,  // A searchset with total 0.
    rejected,       // 400
};

// What a transaction leaves behind when one of its entries fails.
enum class Atomicity {
    atomic,      // Nothing.
    stops,       // What came before the failing entry; the answer is the error.
    carries_on,  // Whatever can be done, as in a batch; a transaction-response with mixed statuses.
};

// How addresses of resources are written in locations and links.
enum class Addresses {
    relative,  // "Observation/n7"
    absolute,  // Behind `base_url`.
    odd,       // "4_0_1/Observation/n7"
};

// Statuses below are those of refusals; each is what some real server answers.
struct Does {
    bool transactions = true;
    bool batches = true;
    int no_bundle_status = 400;  // For a kind of Bundle that it does not do.
    Atomicity atomicity = Atomicity::atomic;
    int transaction_failure_status = 0;  // 0: that of the failing entry.
    bool names_failing_entry = true;     // Whether the OperationOutcome says which one it was.
    bool resolves_references = true;     // urn:uuid references inside a transaction.
    bool resolves_in_batches = false;    // The same inside a batch, which the standard does not ask for.
    bool batches_survive = false;        // An entry that breaks something fails alone in a batch.
    std::size_t max_entries = 0;         // Of a Bundle; 0: no limit.
    std::size_t max_bytes = 0;           // Of a body; 0: no limit.
    int too_large_status = 413;          // For both limits.

    bool creates = true;  // POST to a type.
    bool updates = true;  // PUT to an id; neither matters inside a Bundle.
    int not_allowed_status = 405;
    Support conditional_create = Support::honoured;
    int condition_status = 400;  // When conditions are rejected.
    bool update_create = true;   // PUT to an id that is not there creates it.
    int no_update_create_status = 404;
    int create_by_put_status = 201;
    bool checks_versions = true;     // If-Match.
    bool requires_versions = false;  // An update without If-Match is refused with 412.
    bool if_none_match_star = true;  // If-None-Match: * on a PUT.

    // Empty: every type is kept.
    std::vector<std::string> types;
    bool keeps_provenance = true;
    int unsupported_status = 404;  // For a type that is not kept.
    bool answers_410_for_deleted = true;

    bool gives_location = true;
    bool gives_etag = true;
    bool quotes_etag = true;  // Else: ETag: 1
    bool version_in_location = true;
    bool shows_versions = true;  // meta.versionId in resources.
    bool returns_representation = false;
    Addresses addresses = Addresses::relative;
    std::string base_url = "https://clinic.example/fhir";

    IdentifierSearch identifier_search = IdentifierSearch::honoured;
    std::size_t page_size = 50;
    bool gives_total = true;

    bool asynchronous = false;     // Writes are answered with 202 and happen in ModelClinic::apply_pending().
    bool reuses_ids = false;       // After a backup was restored or a transaction rolled back.
    bool opaque_versions = false;  // Version ids that do not count 1, 2, 3, and do not come again.
    bool decorates = false;        // Adds meta.lastUpdated and a narrative to what it stores.
    bool trims_decimals = false;   // Keeps 1.50 as 1.5, as servers written in JavaScript do.
};

enum class Metadata { readable, absent, broken, web_page, other_resource, truncated };

// What its CapabilityStatement shows.
struct Claims {
    Metadata metadata = Metadata::readable;
    bool transaction = true;
    bool batch = true;
    bool read = true;
    bool create = true;
    bool update = true;
    bool search = true;
    std::string versioning = "versioned-update";  // "no-version", "versioned", or empty: not said.
    bool update_create = true;
    bool conditional_create = true;
    bool says_conditions = true;  // Else updateCreate and conditionalCreate are left out.
    bool search_by_identifier = true;
    bool provenance = true;
    std::vector<std::string> types;  // Empty: those that our code deals with.
};

struct Dialect {
    std::string name;
    Does does;
    Claims claims;
};

// Claims that say what is done.
Claims honest_claims(const Does& does);

// Does everything, by the book, and says so.
Dialect thorough();
Dialect no_conditional_create();          // Ignores conditions, and says so.
Dialect rejects_conditional_create();     // Refuses them, and says so.
Dialect no_transactions();                // Batches and single requests.
Dialect batch_only();                     // Nothing but batches and searches.
Dialect single_only();                    // No Bundles at all.
Dialect liar_about_transactions();        // Claims them, but answers 404.
Dialect modest_about_transactions();      // Does them, but claims neither transactions nor conditions.
Dialect liar_about_conditional_create();  // Claims it, but ignores conditions.
Dialect liar_about_versions();            // Claims versioned-update, but ignores If-Match.
Dialect small_bundles(std::size_t entries);
Dialect silent();  // No locations, no versions, nothing returned.
Dialect no_update_create();
Dialect no_provenance();
Dialect no_update_create_no_provenance();
Dialect not_atomic();          // A failed transaction leaves what came before.
Dialect mixed_transactions();  // Transactions are batches by another name.
Dialect no_references();       // Keeps urn:uuid references as they are.
Dialect no_metadata();
Dialect unreadable_metadata();
Dialect blind_search();                 // Ignores the identifier and finds everything.
Dialect empty_search();                 // Ignores the identifier and finds nothing.
Dialect paging(std::size_t page_size);  // And without a total.
Dialect asynchronous();
Dialect odd_headers();  // Unquoted etags, odd addresses, 200 for creation by PUT.
Dialect decorating();   // Changes what it stores in ways that do not matter.

// All of the above, with small limits.
std::vector<Dialect> named_dialects();

// A mixture such as could exist. Mostly able and mostly honest; every switch is met sooner or later.
Dialect random_dialect(Random& random);

}  // namespace nightferry::sim
