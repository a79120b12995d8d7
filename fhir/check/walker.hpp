// Walks a resource against the element tables: names, cardinality, JSON kinds, primitive forms, required
// codes, reference targets. Asks invariants.hpp about every object that it has walked.
//
// It recurses once per level of the document, whose depth the JSON reader bounds.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string_view>

#include "fhir/check/findings.hpp"
#include "fhir/check/reference_index.hpp"
#include "fhir/check/rulebook.hpp"
#include "fhir/json/document.hpp"
#include "fhir/spec/tables.hpp"

namespace nightferry::fhir::check {

class Walker {
 public:
    Walker(spec::Release release, Findings& findings);

    // A resource on its own: the outermost one, or one in a Bundle or in Parameters.
    void resource(const json::Value& value, const Place& place);

 private:
    // A structure and its bases, nearest first.
    struct Lineage {
        std::array<std::uint16_t, 3> levels{};
        std::size_t size = 0;
    };
    // What a member's name means.
    struct Match {
        const spec::Element* element = nullptr;
        const spec::TypeUse* use = nullptr;  // The one type, or that of a choice which the name says.
        std::size_t level = 0;               // Of the lineage.
        std::size_t position = 0;            // Among the elements of that level.
    };
    using Seen = std::array<std::uint64_t, 3>;

    void contained(const json::Value& value, const Place& place);
    void typed_resource(const json::Value& value, const Place& place);
    // `has_value`: it stands beside a primitive value, and may then consist of an id alone.
    void object(const json::Value& value, std::uint16_t structure, const Place& place,
                bool has_value = false);
    void member(const json::Value& value, const Lineage& lineage, Seen& seen, std::size_t& cursor,
                const Place& holder);
    bool may_be_extended(std::string_view name, const Lineage& lineage, const Match& match) const;
    void unknown(const json::Value& value, const Lineage& lineage, const Place& holder);
    void missing(const Lineage& lineage, const Seen& seen, const Place& place);

    Lineage lineage_of(std::uint16_t structure) const;
    Match find(const Lineage& lineage, std::string_view name, std::size_t cursor) const;
    const spec::Structure& level(const Lineage& lineage, std::size_t at) const {
        return tables_.structures[lineage.levels[at]];
    }
    Match find_in(const spec::Structure& structure, std::string_view name, std::size_t start) const;
    const spec::TypeUse* chosen(const spec::Element& element, std::string_view name) const;
    bool names_other_type(const json::Value& value, const Match& match, const Place& holder) const;

    // The member as a whole, an item of it, or the extensions beside it (`_name`).
    void occurrences(const json::Value& value, const Match& match, const Place& place);
    void list(const json::Value& value, const Match& match, const Place& place);
    void extensions_beside(const json::Value& value, const Match& match, const Place& place);
    void extensions(const json::Value& value, const Place& place, bool has_value);
    void one(const json::Value& value, const Match& match, const Place& place);
    void primitive(const json::Value& value, spec::Form form, const Place& place);
    void text(const json::Value& value, spec::Form form, const Place& place);
    void binding(const json::Value& value, const spec::Element& element, const Place& place);
    void target(const json::Value& value, const spec::TypeUse& use, const Place& place);

    bool is_primitive(const spec::TypeUse& use) const;
    bool value_set_holds(const spec::ValueSet& value_set, const json::Value& value) const;
    std::string_view type_behind(const json::Value& reference);

    const Rulebook& rulebook_;
    const spec::Tables& tables_;
    Findings& findings_;
    Scope scope_;
    GroupVerdicts groups_;
    ReferenceIndex bundle_;  // The entries of the innermost bundle around.
};

}  // namespace nightferry::fhir::check
