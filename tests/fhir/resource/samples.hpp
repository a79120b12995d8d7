// One filled-in resource of each type we build, with every element that the builders know.
#pragma once

#include "fhir/resource/device.hpp"
#include "fhir/resource/medication_administration.hpp"
#include "fhir/resource/observation.hpp"
#include "fhir/resource/provenance.hpp"

namespace nightferry::test {

using fhir::resource::CodeableConcept;
using fhir::resource::Device;
using fhir::resource::MedicationAdministration;
using fhir::resource::Observation;
using fhir::resource::Provenance;
using fhir::resource::Quantity;
using fhir::resource::Reference;

inline CodeableConcept coded(const std::string& system, const std::string& code, const std::string& display) {
    return {{{system, code, display}}, {}};
}

inline const std::string sct = "http://snomed.info/sct";
inline const std::vector<fhir::resource::Coding> reported{
    {"http://terminology.hl7.org/CodeSystem/v3-ObservationValue", "PACQRPT",
     "patient acquaintance reported"}};

inline MedicationAdministration administration() {
    const std::string functions = "http://terminology.hl7.org/CodeSystem/med-admin-perform-function";
    MedicationAdministration sample;
    sample.id = "a1";
    sample.security = reported;
    sample.identifier = {{"urn:example:home", "urn:uuid:0d6f2f0e-6f0b-4f6d-8a39-3b1f6a0f7c11"}};
    sample.status = "completed";
    sample.category = {"community", "Community"};
    sample.medication = {{{"http://www.whocc.no/atc", "B01AB05", "enoxaparin"}}, "enoxaparin 100 mg/mL"};
    sample.subject = {"Patient/p1", {}, {}, {}};
    sample.effective = "2026-11-01T20:04:00+01:00";
    sample.recorded = "2026-11-01T20:10:00+01:00";
    sample.request = {"MedicationRequest/order-1", {}, {}, {}};
    sample.performer = {
        {coded(functions, "performer", "Performer"), {"RelatedPerson/r1", {}, {}, "Marlow"}},
        {coded(functions, "verifier", "Verifier"),
         {{}, "RelatedPerson", fhir::resource::Identifier{"urn:example:home", "carer:tove"}, "Tove"}}};
    sample.reason = {{{}, "clot in the leg"}};
    sample.note = "into a pinched fold";
    sample.dosage = {"0.40 mL under the skin",
                     coded(sct, "68505006", {}),
                     coded(sct, "34206005", "Subcutaneous route"),
                     coded(sct, "422145002", "Inject"),
                     {"40.0", "mg", "mg"}};
    return sample;
}

inline Observation observation() {
    Observation sample;
    sample.security = reported;
    sample.identifier = {{"urn:example:home", "urn:uuid:6b6a5d52-3d0d-45a4-9a0e-1f7a4f8b9c22"}};
    sample.part_of = {{"MedicationAdministration/a1", {}, {}, {}}};
    sample.status = "final";
    sample.category = {coded("http://terminology.hl7.org/CodeSystem/observation-category", "exam", "Exam")};
    sample.code = {{{sct, "95401009", {}}}, "bruise"};
    sample.subject = {"Patient/p1", {}, {}, {}};
    sample.effective = "2026-11-02T08:00:00+01:00";
    sample.performer = {{"RelatedPerson/r1", {}, {}, {}}};
    sample.value = true;
    sample.note = "fading";
    sample.body_site = coded(sct, "68505006", {});
    sample.method.text = "seen at home";
    sample.component = {{{{}, "longest measure"}, Quantity{"2.50", "cm", "cm"}},
                        {{{}, "expiry date"}, Observation::DateTime{"2027-01"}}};
    return sample;
}

// As a device counts it.
inline Observation summary() {
    Observation sample;
    sample.identifier = {{"urn:example:home", "urn:uuid:7f0d3c8e-5b0a-4c1e-9d3a-0a1b2c3d4e5f"}};
    sample.status = "amended";
    sample.code.text = "doses of one day";
    sample.subject = {"Patient/p1", {}, {}, {}};
    sample.effective_period =
        fhir::resource::Period{"2026-10-25T00:00:00+01:00", "2026-10-26T00:00:00+00:00"};
    sample.device = {"Device/hub", {}, {}, {}};
    const std::string reasons = "http://terminology.hl7.org/CodeSystem/data-absent-reason";
    sample.component = {
        {{{}, "doses given"}, Observation::Integer{"2"}},
        {{{}, "scheduled and given"}, fhir::resource::Ratio{"1", "2"}},
        {{{}, "in the ordered amount"}, {}, coded(reasons, "not-applicable", "Not Applicable")}};
    return sample;
}

inline Provenance provenance() {
    const std::string roles = "http://terminology.hl7.org/CodeSystem/provenance-participant-type";
    Provenance sample;
    sample.id = "8c1c2f3e-44a8-4d0b-9f55-77d1c0f5aa33";
    sample.target = {{"MedicationAdministration/a1", {}, {}, {}}};
    sample.occurred = "2026-11-01T20:04:00+01:00";
    sample.recorded = "2026-11-01T20:10:12+01:00";
    sample.reason.text = "the dose was misread";
    sample.activity = coded("http://terminology.hl7.org/CodeSystem/v3-DataOperation", "UPDATE", "revise");
    sample.agent = {{coded(roles, "author", "Author"), {"RelatedPerson/r1", {}, {}, {}}},
                    {coded(roles, "assembler", "Assembler"), {"Device/hub", {}, {}, {}}}};
    return sample;
}

inline Device device() {
    Device sample;
    sample.id = "hub";
    sample.identifier = {{"urn:example:home", "hub:test-home"}};
    sample.status = "active";
    sample.name = "home hub";
    sample.type.text = "home hub that carries the injection log";
    sample.version = "0.1.0";
    sample.patient = {"Patient/p1", {}, {}, {}};
    return sample;
}

}  // namespace nightferry::test
