// Names and cardinality. What a single value must be is in walker_values.cpp.
#include "fhir/check/walker.hpp"

#include <algorithm>
#include <bit>
#include <string>

#include "fhir/json/ascii.hpp"

namespace nightferry::fhir::check {

using json::Value;
using spec::Element;
using spec::Structure;
using spec::TypeUse;

namespace {

std::string quoted(std::string_view name) {
    return '"' + std::string(name) + '"';
}

char capital(char c) {
    return c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
}

// "valueQuantity" behind "value" is "Quantity": the type's name with a capital first letter.
bool is_type_suffix(std::string_view suffix, std::string_view type) {
    return suffix.size() == type.size() && suffix.front() == capital(type.front()) &&
           suffix.substr(1) == type.substr(1);
}

// The names of unknown members are content too: anything could stand there, of any length. What looks like
// an element's name is worth telling, since it mostly is a slip or of another release.
bool is_like_an_element_name(std::string_view name) {
    constexpr std::size_t length_max = 64;
    if (name.starts_with('_')) name.remove_prefix(1);
    return !name.empty() && name.size() <= length_max && ascii::is_letter(name.front()) &&
           std::all_of(name.begin(), name.end(), ascii::is_letter_or_digit);
}

std::string_view without_underscore(std::string_view name) {
    return name.starts_with('_') ? name.substr(1) : name;
}

}  // namespace

Walker::Walker(spec::Release release, Findings& findings)
    : rulebook_(rulebook_of(release)),
      tables_(rulebook_.tables),
      findings_(findings),
      scope_{release, tables_, findings} {
    scope_.entries = &bundle_;
    scope_.groups = &groups_;
}

void Walker::resource(const Value& value, const Place& place) {
    const Scope outer = scope_;
    ReferenceIndex contained = ReferenceIndex::of_contained(value);
    scope_.root = &value;
    scope_.resource = &value;
    scope_.contained = &contained;
    typed_resource(value, place);
    scope_.root = outer.root;
    scope_.resource = outer.resource;
    scope_.contained = outer.contained;
}

void Walker::contained(const Value& value, const Place& place) {
    const Value* outer = scope_.resource;
    scope_.resource = &value;
    typed_resource(value, place);
    scope_.resource = outer;
}

void Walker::typed_resource(const Value& value, const Place& place) {
    if (!value.is(json::Kind::object)) {
        findings_.add(rule::kind, place,
                      "a resource is an object, and this is " + std::string(words_for(value.kind())));
        return;
    }
    const std::string_view type = value.string_at("resourceType");
    const std::uint16_t structure = tables_.find_resource(type);
    if (structure == spec::none) {
        findings_.add(rule::resource_type, place,
                      type.empty()
                          ? "a resource says its type in resourceType"
                          : std::string(name_of(scope_.release)) + " has no resource type of this name");
        return;
    }
    if (type != "Bundle") {
        object(value, structure, place);
        return;
    }
    ReferenceIndex outer = std::move(bundle_);
    bundle_ = ReferenceIndex::of_entries(value);
    object(value, structure, place);
    bundle_ = std::move(outer);
}

Walker::Lineage Walker::lineage_of(std::uint16_t structure) const {
    Lineage lineage;
    for (; structure != spec::none && lineage.size < lineage.levels.size();
         structure = tables_.structures[structure].base)
        lineage.levels[lineage.size++] = structure;
    return lineage;
}

void Walker::object(const Value& value, std::uint16_t structure, const Place& place, bool has_value) {
    const Lineage lineage = lineage_of(structure);
    const bool is_resource = level(lineage, 0).kind == spec::Kind::resource;
    const bool id_only = value.size() == 1 && value.front().name() == "id" && !is_resource && !has_value;
    if (value.size() == 0 || id_only) {
        findings_.add(rule::empty, place, "an element has a value or children beside its id");
        return;
    }
    Seen seen{};
    std::size_t cursor = 0;
    for (const Value& one : value) {
        if (is_resource && one.name() == "resourceType") continue;
        member(one, lineage, seen, cursor, place);
        if (findings_.full()) return;
    }
    missing(lineage, seen, place);
    if (const Invariant check = rulebook_.invariants[structure]) check(value, place, scope_);
    if (is_resource && lineage.size == 3) check_domain_resource(value, place, scope_);
}

void Walker::member(const Value& value, const Lineage& lineage, Seen& seen, std::size_t& cursor,
                    const Place& holder) {
    const std::string_view name = without_underscore(value.name());
    const bool beside = name.size() != value.name().size();
    const Match match = name.empty() ? Match() : find(lineage, name, cursor);
    if (match.element == nullptr || (beside && !may_be_extended(name, lineage, match))) {
        unknown(value, lineage, holder);
        return;
    }
    if (match.level == 0) cursor = match.position + 1;
    const Place place{&holder, &value, tables_.name_of(*match.element), value.name()};
    const std::uint64_t bit = std::uint64_t{1} << match.position;
    if ((seen[match.level] & bit) != 0 && match.element->choice() && names_other_type(value, match, holder)) {
        findings_.add(rule::choice, place, "only one type of " + quoted(place.element) + " may be there");
    }
    seen[match.level] |= bit;
    if (beside) {
        extensions_beside(value, match, place);
    } else {
        occurrences(value, match, place);
    }
}

// Element.id and Extension.url are attributes in XML, so that nothing can stand beside them.
bool Walker::may_be_extended(std::string_view name, const Lineage& lineage, const Match& match) const {
    if (!is_primitive(*match.use)) return false;
    const std::string_view holder = tables_.name_of(level(lineage, match.level));
    return !(name == "id" && holder == "Element") && !(name == "url" && holder == "Extension");
}

void Walker::unknown(const Value& value, const Lineage& lineage, const Place& holder) {
    Place place = holder;
    if (is_like_an_element_name(value.name())) place = {&holder, &value, value.name(), value.name()};
    place.value = &value;
    findings_.add(rule::unknown_element, place,
                  std::string(tables_.name_of(level(lineage, 0))) + " has no element of this name in " +
                      std::string(name_of(scope_.release)));
}

// Whether an earlier member of the holder gives the same choice element in another type.
bool Walker::names_other_type(const Value& value, const Match& match, const Place& holder) const {
    const std::string_view prefix = tables_.name_of(*match.element);
    for (const Value& other : *holder.value) {
        if (&other == &value) break;
        const std::string_view name = without_underscore(other.name());
        if (name == without_underscore(value.name())) continue;
        if (name.starts_with(prefix) && chosen(*match.element, name.substr(prefix.size())) != nullptr)
            return true;
    }
    return false;
}

void Walker::missing(const Lineage& lineage, const Seen& seen, const Place& place) {
    for (std::size_t at = 0; at < lineage.size; ++at) {
        std::uint64_t absent = rulebook_.required[lineage.levels[at]] & ~seen[at];
        for (; absent != 0; absent &= absent - 1) {
            const auto first = static_cast<std::size_t>(std::countr_zero(absent));
            const std::string_view name = tables_.name_of(tables_.elements_of(level(lineage, at))[first]);
            findings_.add_missing(rule::min, place, name, quoted(name) + " is required and missing");
        }
    }
}

Walker::Match Walker::find(const Lineage& lineage, std::string_view name, std::size_t cursor) const {
    for (std::size_t at = 0; at < lineage.size; ++at) {
        Match match = find_in(level(lineage, at), name, at == 0 ? cursor : 0);
        if (match.element == nullptr) continue;
        match.level = at;
        return match;
    }
    return {};
}

// Members mostly stand in the order of the tables, so the search starts behind the last one found.
Walker::Match Walker::find_in(const Structure& structure, std::string_view name, std::size_t start) const {
    const auto elements = tables_.elements_of(structure);
    for (std::size_t step = 0; step < elements.size(); ++step) {
        std::size_t at = start + step;
        if (at >= elements.size()) at -= elements.size();
        const Element& element = elements[at];
        if (element.initial != name.front()) continue;
        if (element.choice()) {
            const std::string_view prefix = tables_.name_of(element);
            if (!name.starts_with(prefix)) continue;
            if (const TypeUse* use = chosen(element, name.substr(prefix.size())))
                return {&element, use, 0, at};
        } else if (element.name_length == name.size() && tables_.name_of(element) == name) {
            return {&element, &tables_.types_of(element)[0], 0, at};
        }
    }
    return {};
}

const TypeUse* Walker::chosen(const Element& element, std::string_view suffix) const {
    if (suffix.empty()) return nullptr;
    for (const TypeUse& use : tables_.types_of(element)) {
        if (is_type_suffix(suffix, tables_.name_of(tables_.structures[use.structure]))) return &use;
    }
    return nullptr;
}

}  // namespace nightferry::fhir::check
