// Which function checks the invariants of which structure: one list per file of invariants.
#pragma once

#include <span>
#include <string>
#include <string_view>

#include "fhir/check/invariants.hpp"

namespace nightferry::fhir::check {

struct NamedInvariant {
    std::string_view structure;  // As in the element tables: "Quantity", "Observation.referenceRange".
    Invariant check;
};

std::span<const NamedInvariant> datatype_invariants();
std::span<const NamedInvariant> timing_invariants();
std::span<const NamedInvariant> resource_invariants();
std::span<const NamedInvariant> bundle_invariants();
std::span<const NamedInvariant> capability_invariants();

// Reports the invariant with that key when it does not hold. `why` says what the rule demands.
inline void demand(bool holds, std::string_view key, const Place& place, const Scope& scope,
                   std::string_view why) {
    if (!holds) scope.findings.add(Rule{key, "invariant"}, place, std::string(why));
}

// The same for a rule that is published as a warning.
inline void advise(bool holds, std::string_view key, const Place& place, const Scope& scope,
                   std::string_view why) {
    if (!holds) scope.findings.add(Rule{key, "invariant", Severity::warning}, place, std::string(why));
}

}  // namespace nightferry::fhir::check
