#include "daemon/mapping/read_frame.hpp"

#include <algorithm>

#include "daemon/core/words.hpp"
#include "daemon/entry/foreign_identifiers.hpp"
#include "daemon/entry/vocabulary.hpp"
#include "daemon/mapping/codes.hpp"
#include "fhir/resource/read_datatypes.hpp"

namespace nightferry::mapping {

using entry::Action;
using fhir::resource::CodeableConcept;
using fhir::resource::Coding;
using fhir::resource::Identifier;
using fhir::resource::Reference;

namespace {

// Labels are promises about handling. Of those that say who reported, the hub makes its own.
void read_meta(Element& resource) {
    for (Element& meta : resource.items("meta")) {
        std::size_t index = 0;
        for (Element& label : meta.items("security")) {
            const std::string system = label.text("system");
            const std::string code = label.text("code");
            const bool who_reported = system == observation_values && (code == "PATRPT" || code == "PACQRPT");
            const bool ordinary =
                system == "http://terminology.hl7.org/CodeSystem/v3-Confidentiality" && code == "N";
            if (!who_reported && !ordinary) {
                meta.refuse(
                    "security[" + std::to_string(index) + "]",
                    "this hub cannot keep what this label asks for; leave the label out, or record by "
                    "other means");
            }
            ++index;
        }
    }
}

void read_identifiers(Incoming& incoming, Action action) {
    Element& resource = incoming.element;
    const std::string& own = incoming.context.acquaintances.identifier_system();
    std::vector<entry::ForeignIdentifier> kept;
    std::size_t ours = 0;
    for (Element& item : resource.items("identifier")) {
        const Identifier identifier = fhir::resource::identifier_in(item.value());
        const entry::ForeignIdentifier foreign{identifier.system, identifier.value};
        if (identifier.system == own) {
            if (!EntryId::parse(identifier.value) || ++ours > 1)
                item.refuse("value", "in this home's own system an entry has one identifier, urn:uuid:…");
        } else if (!entry::can_be_written(foreign)) {
            item.refuse("value",
                        "an identifier has a value on one line, and an absolute URI for its system or none");
        } else if (std::find(kept.begin(), kept.end(), foreign) == kept.end()) {
            kept.push_back(foreign);
        }
    }
    resource.take("id");
    const auto id = entry_of(incoming.source, incoming.context.household, own);
    if (id) {
        resource.put("id", id->to_string(),
                     resource.value().find("identifier") != nullptr ? "identifier" : "id");
    } else if (action != Action::record) {
        resource.refuse(
            "identifier",
            "is missing; an amendment or a retraction needs the identifier by which the entry was "
            "handed in",
            {"id"});
    }
    if (!kept.empty() && action != Action::retract)
        resource.put("identifiers", entry::lines_of(kept), "identifier");
}

void read_subject(Incoming& incoming, Action action) {
    Element& resource = incoming.element;
    const Reference subject = resource.reference_at("subject");
    const auto persons =
        incoming.context.acquaintances.persons(incoming.context.surroundings.named(subject, incoming.source));
    if (persons.size() == 1) {
        if (action != Action::retract) resource.put("person", persons.front(), "subject");
        return;
    }
    resource.refuse(
        "subject",
        persons.empty()
            ? "this is no person that this hub knows; give the reference or the identifier by which "
              "a clinic in the settings knows the person, or add it under known_as"
            : "this means more than one person of this hub; give one reference or identifier, with "
              "the server's address before it where two clinics use the same",
        {"person"});
}

bool is_unreadable(const entry::Draft& draft, std::string_view field) {
    return std::find(draft.unreadable.begin(), draft.unreadable.end(), field) != draft.unreadable.end();
}

void read_recorded(Incoming& incoming, Action action, std::string_view stated) {
    Element& resource = incoming.element;
    const std::string said = resource.text(stated);
    if (incoming.authorship != nullptr && !incoming.authorship->recorded.empty()) {
        resource.draft().fields.push_back(
            {"recorded", incoming.authorship->recorded, incoming.authorship->path + ".recorded"});
        return;
    }
    if (!said.empty()) return resource.put("recorded", said, stated);
    if (action == Action::record) return;
    const fhir::json::Value* meta = resource.take("meta");
    const std::string updated = meta == nullptr ? "" : fhir::resource::text_of(*meta, "lastUpdated");
    if (!updated.empty()) return resource.put("recorded", updated, "meta.lastUpdated");
    resource.refuse("meta.lastUpdated",
                    "is missing; an amendment or a retraction says when it was written down: here, or in the "
                    "recorded of a Provenance",
                    {"recorded"});
}

}  // namespace

void read_frame(Incoming& incoming, Action action) {
    Element& resource = incoming.element;
    resource.pass_over({"resourceType", "text", "language", "contained"});
    if (action != Action::record) resource.put("action", std::string(entry::word_for(action)), "status");
    if (incoming.authorship != nullptr && incoming.authorship->action == Action::retract &&
        action != Action::retract) {
        resource.refuse("status",
                        "its Provenance says that it was nullified; then its status is entered-in-error");
    }
    read_meta(resource);
    read_identifiers(incoming, action);
    read_subject(incoming, action);
}

void read_time(Incoming& incoming, std::string_view name) {
    Element& resource = incoming.element;
    const auto when = resource.choice(name);
    const std::string text = when ? std::string(when->value->text()) : std::string();
    if (!when) {
        resource.refuse(name, "is missing; an entry says when it happened", {"time"});
    } else if (when->type != "DateTime" && when->type != "Instant") {
        resource.refuse(name, "an entry happened at one moment; give it as a dateTime", {"time"});
    } else if (text.find('T') == std::string::npos) {
        resource.refuse(
            name, in_quotes(text) + " has no time of day; write it like 2026-10-12T08:00:00+01:00", {"time"});
    } else {
        resource.put("time", text, name);
    }
}

std::optional<std::string> carer_at(Incoming& incoming, Element& at, std::string_view name,
                                    const Reference& reference, std::string_view field) {
    const auto carers = incoming.context.acquaintances.carers(
        incoming.context.surroundings.named(reference, incoming.source));
    if (carers.size() == 1) return carers.front();
    at.refuse(
        name,
        carers.empty()
            ? "this is no carer that this hub knows; give the reference by which a clinic in the settings "
              "knows the carer, or add it under known_as"
            : "this means more than one carer of this hub; give one reference or identifier",
        {field});
    return std::nullopt;
}

void read_authors(Incoming& incoming, Action action, std::string_view stated,
                  const std::optional<std::string>& performer) {
    Element& resource = incoming.element;
    entry::Draft& draft = resource.draft();
    static const Authorship unsaid;
    const Authorship& said = incoming.authorship != nullptr ? *incoming.authorship : unsaid;
    read_recorded(incoming, action, stated);
    const std::string by = performer.value_or(said.author);
    if (action != Action::retract) {
        if (!by.empty()) {
            resource.put("by", by, "performer");
        } else if (!is_unreadable(draft, "by")) {
            resource.refuse("performer",
                            "is missing; an entry says who did it or saw it: here, or as the author in a "
                            "Provenance",
                            {"by"});
        }
    }
    const bool is_needed = action != Action::record;
    const std::string writer = !said.enterer.empty() ? said.enterer : !said.author.empty() ? said.author : by;
    if (!writer.empty() && (is_needed || writer != by)) {
        resource.put("recorded_by", writer, "performer");
    } else if (is_needed && writer.empty() && !is_unreadable(draft, "recorded_by") &&
               !is_unreadable(draft, "by")) {
        resource.refuse("performer",
                        "is missing; an amendment or a retraction says who wrote it down: here, or in a "
                        "Provenance",
                        {"recorded_by"});
    }
    if (is_unreadable(draft, "by")) draft.unreadable.push_back("recorded_by");
    if (is_needed && !said.reason.empty())
        draft.fields.push_back({"reason", said.reason, said.path + ".reason"});
}

void keep_words(Incoming& incoming, std::string_view label, const CodeableConcept& concept_,
                std::string_view ours) {
    if (trimmed(concept_.text).empty() || concept_.text == ours) return;
    const bool is_display = std::any_of(concept_.coding.begin(), concept_.coding.end(),
                                        [&](const Coding& one) { return one.display == concept_.text; });
    if (!is_display) incoming.words.push_back(std::string(label) + ": " + concept_.text);
}

void read_note(Incoming& incoming) {
    std::string lines;
    const auto add = [&](std::string_view line) {
        if (!lines.empty()) lines += '\n';
        lines += line;
    };
    for (Element& note : incoming.element.items("note")) {
        add(note.text("text"));
        note.refuse_leftovers();
    }
    for (const std::string& one : incoming.words)
        add(one);
    if (!lines.empty()) incoming.element.put("note", lines, "note");
}

}  // namespace nightferry::mapping
