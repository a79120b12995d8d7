// What is sent to a clinic to see whether records would be taken. Nothing in it is about care: each says that
// it is test health data (security label HTEST: https://hl7.org/fhir/R4/security-labels.html).
#pragma once

#include <string>

#include "daemon/core/time.hpp"
#include "fhir/spec/release.hpp"

namespace nightferry::door {

struct TestRecord {
    std::string identifier_system;  // Of this hub's entries.
    std::string identifier_value;   // "urn:uuid:…", never used for an entry.
    std::string hub;                // Its key in the settings.
    Instant at;
    std::string id;         // The clinic's, once it has one.
    bool in_error = false;  // Retracts it.
};

// An Observation about the hub itself and about no person.
std::string test_observation(const TestRecord& record, fhir::spec::Release release);

// For $validate only, which stores nothing: a MedicationAdministration of no medicine, marked as entered in
// error from the start. Also there a reference to the patient shows whether the server accepts it.
std::string test_administration(const TestRecord& record, const std::string& patient,
                                fhir::spec::Release release);

}  // namespace nightferry::door
