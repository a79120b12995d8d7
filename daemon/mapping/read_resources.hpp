// FHIR to drafts of entries: a MedicationAdministration, an Observation, or a Bundle of them, as others hand
// it in. The reverse of mapper.hpp, by the same tables of codes. Pure.
//
// Every resource is first held against the published definitions of its release. Then each element becomes a
// field of the entry format, or is refused with its FHIRPath, why, and what to do: nothing that has a meaning
// is dropped in silence. What the entry format demands beyond that is judged by entry::check(), as for every
// other form; the fields carry their FHIRPath there.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "daemon/entry/draft.hpp"
#include "daemon/entry/household.hpp"
#include "daemon/mapping/acquaintances.hpp"
#include "fhir/json/document.hpp"
#include "fhir/spec/release.hpp"

namespace nightferry::mapping {

// One entry of a Bundle, or the resource that came alone.
struct ResourcePart {
    enum class Kind {
        entry,    // Becomes an entry, or is refused by the problems of its draft.
        context,  // Says whom, what or when the others mean; nothing of it is kept by itself.
    };
    Kind kind = Kind::entry;
    entry::Draft draft;
};

struct ResourceReading {
    fhir::spec::Release release = fhir::spec::Release::r4;
    std::string bundle_type;          // Empty: one resource alone.
    std::vector<ResourcePart> parts;  // In the order of the Bundle.
    // Set when it cannot be read at all; there are no parts then.
    std::optional<entry::Problem> failure;
};

// Whether this JSON is a FHIR resource: entries of our own have no resourceType.
bool is_resource(const fhir::json::Value& root);

// `stated` is the release that came with it, if one did; else profiles with a version tell it, else the
// first release under which it is valid, else the one under which least is wrong.
ResourceReading read_resources(const fhir::json::Value& root, std::optional<fhir::spec::Release> stated,
                               const entry::Household& household, const Acquaintances& acquaintances);

}  // namespace nightferry::mapping
