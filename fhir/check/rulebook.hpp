// What the validator needs of a release and can work out once: the tables, and by structure the invariants to
// check and the elements that have to be there.
#pragma once

#include <cstdint>
#include <vector>

#include "fhir/check/invariants.hpp"
#include "fhir/spec/tables.hpp"

namespace nightferry::fhir::check {

struct Rulebook {
    const spec::Tables& tables;
    std::uint16_t element;                // The structure "Element": what stands in `_name`.
    std::vector<Invariant> invariants;    // nullptr where there is nothing to check.
    std::vector<std::uint64_t> required;  // One bit for each of the structure's own elements.
};

// Made at the first call and kept for good.
const Rulebook& rulebook_of(spec::Release release);

}  // namespace nightferry::fhir::check
