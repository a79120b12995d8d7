// The published invariants (https://hl7.org/fhir/R4/conformance-rules.html#constraints), written by hand and
// never interpreted: the published expressions yield "empty" where they mean "does not apply", and differ
// between releases where the rule does not. Covered are the data types (but for ElementDefinition) and the
// resource types that this library is for: see the files invariants_*.cpp, which name each by its key.
#pragma once

#include <map>

#include "fhir/check/findings.hpp"
#include "fhir/check/reference_index.hpp"
#include "fhir/json/document.hpp"
#include "fhir/spec/tables.hpp"

namespace nightferry::fhir::check {

// Whether a Group has only specimens as members (obs-9): many observations may share a large one.
using GroupVerdicts = std::map<const json::Value*, bool>;

// What an invariant may look at beside the object it is about.
struct Scope {
    spec::Release release;
    const spec::Tables& tables;
    Findings& findings;
    const json::Value* root = nullptr;      // The resource that holds the contained ones: %rootResource.
    const json::Value* resource = nullptr;  // The innermost resource: %resource.
    ReferenceIndex* contained = nullptr;    // The contained resources of the root, by id.
    ReferenceIndex* entries = nullptr;      // The entries of the innermost bundle around, by fullUrl.
    GroupVerdicts* groups = nullptr;        // Of the groups looked at so far.

    bool in_contained() const { return root != resource; }
    // The resource that a Reference leads to within this document, or nullptr.
    const json::Value* resolve(const json::Value& reference) const;
};

// An object and what to check of it. The object has been walked: but for what was reported, its members are
// known and of the right kind, so an invariant has to bear with wrong kinds yet need not report them.
using Invariant = void (*)(const json::Value& object, const Place& place, const Scope& scope);

// What every resource that is a DomainResource has to keep: dom-2 to dom-6, dom-r4b.
void check_domain_resource(const json::Value& resource, const Place& place, const Scope& scope);

}  // namespace nightferry::fhir::check
