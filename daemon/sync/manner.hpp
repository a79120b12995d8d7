// How requests are put to one clinic: what its server says it can do, corrected by what it turns out to do.
//
// The steps of each ladder, best first:
//   carrying    one transaction for many entries; one batch for many entries; one request for each.
//   creating    on the condition that nothing bears the identifier; under an id of our own; after a look.
#pragma once

#include <optional>
#include <vector>

#include "fhir/resource/capability_statement.hpp"

namespace nightferry::sync {

enum class Carrier {
    transaction,  // All or nothing; the Provenance travels beside its resource.
    batch,        // Each on its own; the Provenance follows once its resource has a place.
    single,       // The same, one request for each.
};

enum class Creating {
    on_condition,  // POST with If-None-Exist: the server sees to it that there is only one.
    under_our_id,  // PUT to an id computed from the entry, once a look, where one is possible, found nothing.
    after_a_look,  // POST, the same.
};

struct Manner {
    Carrier carrier = Carrier::transaction;
    Creating creating = Creating::on_condition;
    bool checks_versions = true;  // If-Match is honoured.
    bool searches = true;         // By identifier.
    bool takes_provenance = true;
    bool is_claimed = false;  // The server said so; otherwise it is our best guess.

    // Whether a request that was given up and reaches the server all the same, after we went on, can change
    // nothing: a condition then finds the entry there, and a version has moved on.
    bool late_requests_are_harmless() const {
        return is_claimed && creating == Creating::on_condition && checks_versions;
    }
    bool operator==(const Manner&) const = default;
};

// One way of writing an entry.
struct Way {
    Carrier carrier = Carrier::transaction;
    bool with_provenance = true;  // Beside its resource, in a transaction.
    Creating creating = Creating::on_condition;

    bool operator==(const Way&) const = default;
};

// As everything goes that nothing else is known of.
Way usual_way(const Manner& manner);

// The next way of writing an entry that was refused in these, by a server that may mean the way and not the
// entry; none when nothing is left to try. `is_settled`: it is not created in another manner than usual,
// because it is an update or the server is known to understand the usual one. `singles_refused`: the server
// does not offer a request of its own for it, so bundles are tried that would otherwise fail like it did.
std::optional<Way> next_way(const std::vector<Way>& tried, const Manner& manner, bool is_settled,
                            bool singles_refused);

// The best manner that a server claims to be able to. A statement without any type of resource says nothing,
// and the best is tried.
Manner manner_for(const fhir::resource::CapabilityStatement& statement);

// The next step down for a server that does not take what this carrier carries.
Carrier below(Carrier carrier);

}  // namespace nightferry::sync
