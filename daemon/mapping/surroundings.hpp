// What a resource of others came with: the other resources of its Bundle, and what it contains.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/core/ids.hpp"
#include "daemon/entry/household.hpp"
#include "daemon/mapping/acquaintances.hpp"
#include "fhir/json/document.hpp"
#include "fhir/resource/datatypes.hpp"

namespace nightferry::mapping {

// A resource with the address that its Bundle gives it.
struct Source {
    const fhir::json::Value* resource = nullptr;
    std::string full_url;                      // May be empty.
    const fhir::json::Value* entry = nullptr;  // Of the Bundle.
};

class Surroundings {
 public:
    // A Bundle, or one resource alone; it outlives this.
    explicit Surroundings(const fhir::json::Value& root);

    // One for each entry of the Bundle; the resource is nullptr where an entry has none.
    const std::vector<Source>& sources() const { return sources_; }

    // The resource that `reference` of `from` leads to, as
    // https://hl7.org/fhir/R4/bundle.html#references resolves it.
    std::optional<Source> target(const std::string& reference, const Source& from) const;
    // Whom or what it names, by itself and by the resource it leads to.
    Named named(const fhir::resource::Reference& reference, const Source& from) const;

 private:
    const Source* find(const std::string& address) const;

    std::vector<Source> sources_;
    std::map<std::string, std::size_t> by_url_;
    // "Patient/p1"; nothing where two from different servers have that name: neither is meant for certain.
    std::map<std::string, std::optional<std::size_t>> by_literal_;
};

// The entry that an identifier names: our own by its UUID, a UUID as it is, any other by a UUID computed from
// it, the same each time on this hub. Nothing for one without a system, and for one of ours that is no UUID.
std::optional<EntryId> entry_of(const fhir::resource::Identifier& identifier,
                                const entry::Household& household, std::string_view own_system);

// The entry that a resource is, by its identifiers (ours first) or else by its id; nothing when it has none
// of them.
std::optional<EntryId> entry_of(const Source& source, const entry::Household& household,
                                std::string_view own_system);

}  // namespace nightferry::mapping
