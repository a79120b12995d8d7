// Entry to FHIR: what a clinic receives of each revision. Pure; one mapper per clinic.
//
// A dose (given or not) becomes a MedicationAdministration; a finding, a weight, an opened vial and the hub's
// summary of a day or week become Observations. Each revision also gets a Provenance of its own, because each
// has its own author and time; its id is computed from the entry and the revision, so sending it twice writes
// one resource.
#pragma once

#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/core/result.hpp"
#include "daemon/entry/entry.hpp"
#include "daemon/entry/household.hpp"
#include "daemon/mapping/clinic_orders.hpp"
#include "fhir/json/document.hpp"
#include "fhir/resource/datatypes.hpp"
#include "fhir/resource/related_person.hpp"
#include "fhir/spec/release.hpp"

namespace nightferry::mapping {

// How one clinic knows this home.
struct Identities {
    std::string identifier_system;                // Names this hub's entries; an absolute URI.
    std::map<std::string, std::string> patients;  // Person key to "Patient/…".
    std::map<std::string, std::string>
        carers;          // Carer key to "RelatedPerson/…", "Patient/…" or "Practitioner/…".
    std::string device;  // "Device/…", or empty when the clinic keeps none for the hub.
    // Carers without a reference are contained in what names them; otherwise it names them by identifier
    // only.
    bool contains_carers = false;
};

// What a resource points to beyond itself.
struct Links {
    std::string id;                    // The clinic's id for the resource, in an update.
    std::string dose_reference;        // Of the dose that a finding belongs to; empty: by its identifier.
    std::string order_reference = {};  // Of the order by which a dose was given; empty: none is named.
};

class Mapper {
 public:
    // `release` is the one that the clinic speaks.
    Mapper(const entry::Household& household, Identities identities,
           fhir::spec::Release release = fhir::spec::Release::r4)
        : household_(household), identities_(std::move(identities)), release_(release) {}

    // Sets the reference of a patient that had to be searched for.
    void set_patient(const std::string& person, std::string reference) {
        identities_.patients[person] = std::move(reference);
    }
    // Nothing can be mapped for this person until a patient is set again.
    void forget_patient(const std::string& person) { identities_.patients.erase(person); }
    // By which orders the clinic has somebody's doses given.
    void set_orders(const std::string& person, std::vector<OrderInForce> orders) {
        orders_[person] = std::move(orders);
    }
    // The one order in force for the medicine of a dose when it was given or due; empty when there is none,
    // or more than one.
    std::string order_of(const entry::Entry& entry) const;
    const Identities& identities() const { return identities_; }
    fhir::spec::Release release() const { return release_; }
    void set_release(fhir::spec::Release release) { release_ = release; }

    // "MedicationAdministration" or "Observation".
    static std::string_view resource_type(const entry::Entry& entry);

    // The business identifier that stays the same through all revisions and on every server.
    fhir::resource::Identifier identifier(const EntryId& id) const;
    // How other entries of one transaction refer to this entry's resource. It differs from the identifier's
    // value on purpose: some servers replace it wherever they find it.
    static std::string full_url(const EntryId& id);
    static std::string provenance_id(const EntryId& id, std::int64_t revision);

    // Errc::setup when the settings lack what this entry needs (a patient reference, a medicine).
    Result<void> put_resource(fhir::json::Value& into, const entry::Version& version,
                              const Links& links) const;
    // `target` is the resource's full_url() or its literal reference; the resource itself can be made.
    void put_provenance(fhir::json::Value& into, const entry::Version& version,
                        const std::string& target) const;

 private:
    using Contained = std::vector<fhir::resource::RelatedPerson>;
    // Puts into `contained` who has to be, as a person related to `subject`.
    fhir::resource::Reference carer(const std::string& key, const fhir::resource::Reference& subject,
                                    Contained& contained) const;
    fhir::resource::Reference hub() const;
    std::vector<fhir::resource::Coding> integrity(const entry::Version& version) const;
    std::vector<fhir::resource::Identifier> identifiers(const entry::Entry& entry) const;
    Result<fhir::resource::Reference> patient(const std::string& person) const;

    const entry::Household& household_;
    Identities identities_;
    fhir::spec::Release release_;
    std::map<std::string, std::vector<OrderInForce>> orders_;
};

}  // namespace nightferry::mapping
