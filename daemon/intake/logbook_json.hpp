// How the local API shows the logbook as a whole.
#pragma once

#include "daemon/core/result.hpp"
#include "daemon/entry/household.hpp"
#include "daemon/logbook/checkup.hpp"
#include "daemon/logbook/logbook.hpp"
#include "daemon/mapping/mapper.hpp"
#include "fhir/json/document.hpp"

namespace nightferry::intake {

void put_checkup(fhir::json::Value& into, const logbook::Checkup& checkup);

// Entries as the parts of a Bundle of type collection (https://hl7.org/fhir/R4/bundle.html), in R4: what
// belongs to no clinic, so it refers to nothing outside it.
class CollectionParts {
 public:
    CollectionParts(const entry::Household& household, const std::string& identifier_system,
                    const std::vector<std::string>& persons);

    // The Patient that stands for a person of this home.
    void put_patient(fhir::json::Value& parts, const std::string& person) const;
    // The revision in effect, and a Provenance for each. Errc::setup when the settings lack what it needs.
    Result<void> put_entry(fhir::json::Value& parts, const logbook::EntryRecord& record) const;

 private:
    const entry::Household& household_;
    std::string identifier_system_;
    mapping::Mapper mapper_;
};

}  // namespace nightferry::intake
