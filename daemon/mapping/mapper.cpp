#include "daemon/mapping/mapper.hpp"

#include <algorithm>

#include "daemon/mapping/administration.hpp"
#include "daemon/mapping/codes.hpp"
#include "daemon/mapping/observations.hpp"
#include "fhir/resource/provenance.hpp"

namespace nightferry::mapping {

using fhir::resource::CodeableConcept;
using fhir::resource::Coding;
using fhir::resource::Identifier;
using fhir::resource::Reference;
using fhir::resource::RelatedPerson;

namespace {

CodeableConcept participant(std::string_view code, std::string_view display) {
    return {{{std::string(participant_types), std::string(code), std::string(display)}}, {}};
}

CodeableConcept activity(entry::Action action) {
    const auto code = [&](std::string_view value, std::string_view display) {
        return CodeableConcept{{{std::string(data_operations), std::string(value), std::string(display)}},
                               {}};
    };
    switch (action) {
        case entry::Action::record:
            return code("CREATE", "create");
        case entry::Action::amend:
            return code("UPDATE", "revise");
        case entry::Action::retract:
            return code("NULLIFY", "nullify");
    }
    return {};
}

// Ids that belong to an entry but are not its own: the same at every sending.
EntryId derived(const EntryId& id, const std::string& role) {
    return NameSpace("resource").id_for(id.to_string() + "|" + role);
}

}  // namespace

std::string_view Mapper::resource_type(const entry::Entry& entry) {
    const bool dose = entry.kind() == entry::Kind::dose_given || entry.kind() == entry::Kind::dose_not_given;
    return dose ? "MedicationAdministration" : "Observation";
}

Identifier Mapper::identifier(const EntryId& id) const {
    return {identities_.identifier_system, id.urn()};
}

std::vector<Identifier> Mapper::identifiers(const entry::Entry& entry) const {
    std::vector<Identifier> all{identifier(entry.id)};
    for (const entry::ForeignIdentifier& one : entry.identifiers) {
        // By one of our system another entry would be found.
        if (one.system != identities_.identifier_system) all.push_back({one.system, one.value});
    }
    return all;
}

std::string Mapper::full_url(const EntryId& id) {
    return derived(id, "full-url").urn();
}

std::string Mapper::provenance_id(const EntryId& id, std::int64_t revision) {
    return derived(id, "provenance-" + std::to_string(revision)).to_string();
}

std::string Mapper::order_of(const entry::Entry& entry) const {
    const auto* given = std::get_if<entry::DoseGiven>(&entry.what);
    const auto* not_given = std::get_if<entry::DoseNotGiven>(&entry.what);
    const auto orders = orders_.find(entry.person);
    if ((given == nullptr && not_given == nullptr) || orders == orders_.end()) return {};
    const std::string& medicine = given != nullptr ? given->medicine : not_given->medicine;
    const OrderInForce* found = nullptr;
    for (const OrderInForce& one : orders->second) {
        const Instant at = entry.time.at;
        if (one.medicine != medicine || at < one.from || (one.until && at >= *one.until)) continue;
        if (found != nullptr) return {};
        found = &one;
    }
    return found == nullptr ? std::string() : found->reference;
}

Reference Mapper::carer(const std::string& key, const Reference& subject, Contained& contained) const {
    if (key.empty()) return hub();
    const entry::Carer* known = household_.carer(key);
    const std::string name = known == nullptr ? key : known->name;
    if (const auto it = identities_.carers.find(key); it != identities_.carers.end())
        return {it->second, {}, {}, name};
    if (known != nullptr && !known->same_as.empty()) {
        if (const auto it = identities_.patients.find(known->same_as); it != identities_.patients.end()) {
            return {it->second, {}, {}, name};
        }
    }
    const Identifier identifier{identities_.identifier_system, "carer:" + key};
    if (!identities_.contains_carers) return {{}, "RelatedPerson", identifier, name};
    const std::string id = NameSpace("resource").id_for("carer|" + key).to_string();
    const bool is_there = std::any_of(contained.begin(), contained.end(),
                                      [&](const RelatedPerson& one) { return one.id == id; });
    if (!is_there) contained.push_back({id, identifier, subject, name});
    return {"#" + id, {}, {}, name};
}

Reference Mapper::hub() const {
    if (!identities_.device.empty()) return {identities_.device, {}, {}, "home hub"};
    return {{}, "Device", Identifier{identities_.identifier_system, "hub:" + household_.hub}, "home hub"};
}

// Who vouches for the record: the person, somebody close to the person, or the hub that computed it.
std::vector<Coding> Mapper::integrity(const entry::Version& version) const {
    constexpr std::string_view labels = observation_values;
    if (version.submission.recorded_by.empty()) return {{std::string(labels), "DEVRPT", "device reported"}};
    const entry::Carer* reporter = household_.carer(version.submission.recorded_by);
    const bool self = reporter != nullptr && reporter->same_as == version.content.person;
    if (self) return {{std::string(labels), "PATRPT", "patient reported"}};
    return {{std::string(labels), "PACQRPT", "patient acquaintance reported"}};
}

Result<Reference> Mapper::patient(const std::string& person) const {
    const auto it = identities_.patients.find(person);
    if (it == identities_.patients.end()) {
        return Error{Errc::setup, "the settings give no patient for this person at this clinic"};
    }
    return Reference{it->second, {}, {}, {}};
}

Result<void> Mapper::put_resource(fhir::json::Value& into, const entry::Version& version,
                                  const Links& links) const {
    const entry::Entry& entry = version.content;
    auto subject = patient(entry.person);
    if (!subject) return subject.error();
    Frame frame;
    frame.id = links.id;
    frame.security = integrity(version);
    frame.identifiers = identifiers(entry);
    frame.subject = *subject;
    frame.by = carer(entry.by, *subject, frame.contained);
    if (const auto* dose = std::get_if<entry::DoseGiven>(&entry.what); dose != nullptr && dose->checked_by) {
        frame.checker = carer(*dose->checked_by, *subject, frame.contained);
    }
    if (const auto* finding = std::get_if<entry::Finding>(&entry.what)) {
        if (finding->dose) {
            frame.dose = links.dose_reference.empty()
                             ? Reference{{}, "MedicationAdministration", identifier(*finding->dose), {}}
                             : Reference{links.dose_reference, {}, {}, {}};
        }
    }
    if (!links.order_reference.empty()) frame.order = Reference{links.order_reference, {}, {}, {}};
    if (resource_type(entry) == "Observation")
        return put_observation(into, version, household_, frame, release_);
    return put_administration(into, version, household_, frame, release_);
}

void Mapper::put_provenance(fhir::json::Value& into, const entry::Version& version,
                            const std::string& target) const {
    fhir::resource::Provenance provenance;
    provenance.id = provenance_id(version.content.id, version.revision);
    provenance.security = integrity(version);
    provenance.target = {{target, {}, {}, {}}};
    provenance.occurred = to_text(version.content.time);
    provenance.recorded = to_text(version.recorded());
    provenance.reason.text = version.submission.reason.value_or("");
    provenance.activity = activity(version.action());
    const bool retracts = version.action() == entry::Action::retract;
    const std::string& author = retracts ? version.submission.recorded_by : version.content.by;
    const Reference subject = patient(version.content.person).value();
    provenance.agent.push_back(
        {participant("author", "Author"), carer(author, subject, provenance.contained)});
    if (version.submission.recorded_by != author) {
        provenance.agent.push_back({participant("enterer", "Enterer"),
                                    carer(version.submission.recorded_by, subject, provenance.contained)});
    }
    provenance.agent.push_back({participant("assembler", "Assembler"), hub()});
    fhir::resource::put_resource(into, provenance, release_);
}

}  // namespace nightferry::mapping
