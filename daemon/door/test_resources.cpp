#include "daemon/door/test_resources.hpp"

#include "fhir/json/document.hpp"
#include "fhir/json/writer.hpp"
#include "fhir/resource/medication_administration.hpp"
#include "fhir/resource/observation.hpp"

namespace nightferry::door {

namespace resource = fhir::resource;

namespace {

constexpr char words[] = "Test of the connection from a home hub; about no person and no treatment";

std::vector<resource::Coding> labels() {
    return {{"http://terminology.hl7.org/CodeSystem/v3-ActReason", "HTEST", "test health data"}};
}

resource::Reference hub(const TestRecord& record) {
    return {{}, "Device", resource::Identifier{record.identifier_system, "hub:" + record.hub}, "home hub"};
}

}  // namespace

std::string test_observation(const TestRecord& record, fhir::spec::Release release) {
    resource::Observation made;
    made.id = record.id;
    made.security = labels();
    made.identifier = {{record.identifier_system, record.identifier_value}};
    made.status = record.in_error ? "entered-in-error" : "final";
    made.code.text = words;
    made.subject = hub(record);
    made.effective = to_text(record.at);
    made.device = hub(record);
    made.value = std::string("test");
    fhir::json::Document document;
    resource::put_resource(document.root(), made, release);
    return fhir::json::write(document.root());
}

std::string test_administration(const TestRecord& record, const std::string& patient,
                                fhir::spec::Release release) {
    resource::MedicationAdministration made;
    made.security = labels();
    made.identifier = {{record.identifier_system, record.identifier_value}};
    made.status = "entered-in-error";
    made.medication.text = words;
    made.subject = {patient, {}, {}, {}};
    made.effective = to_text(record.at);
    made.performer = {{{}, hub(record)}};
    fhir::json::Document document;
    resource::put_resource(document.root(), made, release);
    return fhir::json::write(document.root());
}

}  // namespace nightferry::door
