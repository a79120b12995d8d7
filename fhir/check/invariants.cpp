#include "fhir/check/invariants.hpp"

#include <array>

#include "fhir/check/invariant_lists.hpp"

namespace nightferry::fhir::check {

namespace {

InvariantTable table_of(spec::Release release) {
    const spec::Tables& tables = spec::tables_of(release);
    InvariantTable table(tables.structures.size(), nullptr);
    for (const auto list : {datatype_invariants(), timing_invariants(), resource_invariants(),
                            bundle_invariants(), capability_invariants()}) {
        for (const NamedInvariant& one : list) {
            // A release need not have the type.
            const std::uint16_t structure = tables.find_structure(one.structure);
            if (structure != spec::none) table[structure] = one.check;
        }
    }
    return table;
}

}  // namespace

const InvariantTable& invariants_of(spec::Release release) {
    static const std::array tables{table_of(spec::Release::r4), table_of(spec::Release::r4b),
                                   table_of(spec::Release::r5)};
    return tables[static_cast<std::size_t>(release)];
}

}  // namespace nightferry::fhir::check
