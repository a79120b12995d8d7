#include "daemon/intake/logbook_json.hpp"

#include "daemon/intake/api_json.hpp"

namespace nightferry::intake {

namespace json = fhir::json;

namespace {

std::string patient_url(const std::string& person) {
    return NameSpace("resource").id_for("patient|" + person).urn();
}

mapping::Identities identities(const std::string& system, const std::vector<std::string>& persons) {
    mapping::Identities all{system, {}, {}, {}, true};
    for (const std::string& person : persons)
        all.patients.emplace(person, patient_url(person));
    return all;
}

json::Value& part_of(json::Value& part, const std::string& full_url) {
    part.add_string("fullUrl", full_url);
    return part.add_object("resource");
}

json::Value& part(json::Value& parts, const std::string& full_url) {
    return part_of(parts.push_object(), full_url);
}

}  // namespace

void put_checkup(json::Value& into, const logbook::Checkup& checkup) {
    put_count(into, "version", checkup.version);
    put_count(into, "entries", checkup.entries);
    put_count(into, "revisions", checkup.revisions);
    put_count(into, "deliveries", checkup.deliveries);
    put_count(into, "receipts", checkup.receipts);
    put_count(into, "audit_rows", checkup.audit_rows);
    into.add_string("audit_hash", checkup.audit_hash);
    if (checkup.newest)
        into.add_string("newest", to_text(std::chrono::floor<std::chrono::seconds>(*checkup.newest)));
    json::Value& faults = into.add_array("faults");
    for (const std::string& fault : checkup.faults)
        faults.push_string(fault);
}

CollectionParts::CollectionParts(const entry::Household& household, const std::string& identifier_system,
                                 const std::vector<std::string>& persons)
    : household_(household),
      identifier_system_(identifier_system),
      mapper_(household, identities(identifier_system, persons)) {}

void CollectionParts::put_patient(json::Value& parts, const std::string& person) const {
    json::Value& patient = part(parts, patient_url(person));
    patient.add_string("resourceType", "Patient");
    json::Value& identifier = patient.add_array("identifier").push_object();
    identifier.add_string("system", identifier_system_);
    identifier.add_string("value", "person:" + person);
    const entry::Person* known = household_.person(person);
    if (known != nullptr) patient.add_array("name").push_object().add_string("text", known->name);
}

Result<void> CollectionParts::put_entry(json::Value& parts, const logbook::EntryRecord& record) const {
    const EntryId id = record.current.content.id;
    mapping::Links links;
    if (const auto* finding = std::get_if<entry::Finding>(&record.current.content.what);
        finding != nullptr && finding->dose) {
        links.dose_reference = mapping::Mapper::full_url(*finding->dose);
    }
    const std::string full_url = mapping::Mapper::full_url(id);
    // One that cannot be made leaves no part behind.
    json::Document entry;
    const auto made = mapper_.put_resource(part_of(entry.root(), full_url), record.current, links);
    if (!made) return made;
    parts.push_copy(entry.root());
    for (const entry::Version& version : record.revisions) {
        const std::string provenance = mapping::Mapper::provenance_id(id, version.revision);
        mapper_.put_provenance(part(parts, "urn:uuid:" + provenance), version, full_url);
    }
    return {};
}

}  // namespace nightferry::intake
