// Whom the references in resources of others mean: which names the settings give each person and each carer.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "daemon/entry/household.hpp"
#include "fhir/resource/datatypes.hpp"

namespace nightferry::mapping {

// One way to name somebody: a literal reference, at this server or at any, or an identifier.
struct Alias {
    std::string key;        // Of the person or the carer.
    std::string base;       // "https://clinic.example/fhir"; empty: whatever the server.
    std::string reference;  // "Patient/p1", or an absolute URL without a base; empty for an identifier.
    fhir::resource::Identifier identifier;
};

// All that a reference says of whom it means.
struct Named {
    std::vector<std::string> references;  // Absolute where the server is known.
    std::vector<fhir::resource::Identifier> identifiers;
};

class Acquaintances {
 public:
    // `identifier_system` is this home's own; by it "person:KEY" and "carer:KEY" name everybody.
    Acquaintances(const entry::Household& household, std::string identifier_system);

    void add_person(Alias alias) { persons_.push_back(std::move(alias)); }
    void add_carer(Alias alias) { carers_.push_back(std::move(alias)); }
    // A name as the settings write it: "Patient/p1", an absolute URL, or "system|value".
    static Alias alias(const std::string& key, std::string_view name);

    const std::string& identifier_system() const { return identifier_system_; }
    // The keys of all that are meant; none for a stranger, several for a reference that contradicts itself.
    std::vector<std::string> persons(const Named& named) const;
    std::vector<std::string> carers(const Named& named) const;

 private:
    const entry::Household& household_;
    std::string identifier_system_;
    std::vector<Alias> persons_;
    std::vector<Alias> carers_;
};

}  // namespace nightferry::mapping
