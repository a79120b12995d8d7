#include "fhir/check/rulebook.hpp"

#include <array>

#include "fhir/check/invariant_lists.hpp"

namespace nightferry::fhir::check {

namespace {

std::vector<Invariant> invariants_by_structure(const spec::Tables& tables) {
    std::vector<Invariant> table(tables.structures.size(), nullptr);
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

std::vector<std::uint64_t> required_by_structure(const spec::Tables& tables) {
    std::vector<std::uint64_t> masks;
    for (const spec::Structure& structure : tables.structures) {
        std::uint64_t mask = 0;
        const auto elements = tables.elements_of(structure);
        for (std::size_t i = 0; i < elements.size(); ++i) {
            if (elements[i].required()) mask |= std::uint64_t{1} << i;
        }
        masks.push_back(mask);
    }
    return masks;
}

Rulebook rulebook_from(const spec::Tables& tables) {
    return {tables, tables.find_structure("Element"), invariants_by_structure(tables),
            required_by_structure(tables)};
}

}  // namespace

const Rulebook& rulebook_of(spec::Release release) {
    static const std::array books{rulebook_from(spec::tables_of(spec::Release::r4)),
                                  rulebook_from(spec::tables_of(spec::Release::r4b)),
                                  rulebook_from(spec::tables_of(spec::Release::r5))};
    return books[static_cast<std::size_t>(release)];
}

}  // namespace nightferry::fhir::check
