// What every resource of an entry has around its content, read back: the reverse of frame.hpp.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/entry/entry.hpp"
#include "daemon/entry/household.hpp"
#include "daemon/mapping/acquaintances.hpp"
#include "daemon/mapping/element.hpp"
#include "daemon/mapping/surroundings.hpp"

namespace nightferry::mapping {

struct Context {
    const entry::Household& household;
    const Acquaintances& acquaintances;
    const Surroundings& surroundings;
};

// What a Provenance says of its target. Empty parts were not said.
struct Authorship {
    std::string path;  // Of the Provenance.
    entry::Action action = entry::Action::record;
    std::string recorded;
    std::string author;  // Keys of carers.
    std::string enterer;
    std::string reason;
};

// A resource on its way to a draft.
struct Incoming {
    Element element;
    const Context& context;
    const Source& source;
    const Authorship* authorship;         // nullptr without a Provenance.
    std::vector<std::string> words = {};  // Free texts that an entry keeps in its note.
};

// meta, identifier, id and subject; the fields action, id, identifiers and person.
void read_frame(Incoming& incoming, entry::Action action);

// The moment in a choice element; the field time.
void read_time(Incoming& incoming, std::string_view name);

// The carer whom a reference at `name` of `at` means; else a problem there, and `field` cannot be read.
std::optional<std::string> carer_at(Incoming& incoming, Element& at, std::string_view name,
                                    const fhir::resource::Reference& reference, std::string_view field);

// The fields by, recorded, recorded_by and reason: from the Provenance, else from the resource itself.
// `stated` is the member that says when this version was written down.
void read_authors(Incoming& incoming, entry::Action action, std::string_view stated,
                  const std::optional<std::string>& performer);

// Keeps the concept's text in the note unless it is `ours` or what one of its codes is called.
void keep_words(Incoming& incoming, std::string_view label, const fhir::resource::CodeableConcept& concept_,
                std::string_view ours);

// The field note, from note and the words kept.
void read_note(Incoming& incoming);

// The medicine of the settings that a concept at `name` means; else a problem there.
struct Product {
    const entry::Medicine* medicine = nullptr;
    bool strength_is_said = false;
};
Product medicine_at(Incoming& incoming, std::string_view name,
                    const fhir::resource::CodeableConcept& concept_);

// The fields region, side, level, x_cm and y_cm, from a concept at `name` of `at`.
std::optional<entry::Site> site_at(Incoming& incoming, Element& at, std::string_view name,
                                   const fhir::resource::CodeableConcept& concept_);

}  // namespace nightferry::mapping
