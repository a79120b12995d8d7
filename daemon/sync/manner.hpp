// How requests are put to one clinic: what its server says it can do, corrected by what it turns out to do.
//
// The steps of each ladder, best first:
//   carrying    one transaction for many entries; one batch for many entries; one request for each.
//   creating    on the condition that nothing bears the identifier; under an id of our own; after a look.
#pragma once

#include "fhir/resource/capability_statement.hpp"

namespace nightferry::sync {

enum class Carrier {
    transaction,  // All or nothing; the Provenance travels beside its resource.
    batch,        // Each on its own; the Provenance follows once its resource has a place.
    single,       // The same, one request for each.
};

enum class Creating {
    on_condition,  // POST with If-None-Exist: the server sees to it that there is only one.
    under_our_id,  // PUT to an id computed from the entry, once a look has found nothing.
    after_a_look,  // POST, once a look has found nothing.
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

// The best manner that a server claims to be able to. A statement without any type of resource says nothing,
// and the best is tried.
Manner manner_for(const fhir::resource::CapabilityStatement& statement);

// The next step down for a server that does not take what this carrier carries.
Carrier below(Carrier carrier);

}  // namespace nightferry::sync
