// A clinic for sync's tests: a FHIR endpoint that keeps what it gets, and how this home is known there.
#pragma once

#include <string>
#include <vector>

#include "daemon/mapping/mapper.hpp"
#include "deploy/practice_clinic/fhir_endpoint.hpp"
#include "fhir/exchange/same_content.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/json/writer.hpp"
#include "tests/daemon/logbook/entries.hpp"
#include "tests/support/files.hpp"

namespace nightferry::test {

inline const std::string hub_system = "https://hub.example/entries";

// Of a clinic that knows the person of the test household as Patient/p1.
inline mapping::Mapper mapper(std::map<std::string, std::string> patients = {{"juniper", "Patient/p1"}}) {
    static const entry::Household home = household();
    return {home, {hub_system, std::move(patients), {}, {}}};
}

// A resource as the mapper makes it of a version.
inline std::string resource_of(const entry::Version& version) {
    fhir::json::Document document;
    EXPECT_TRUE(mapper().put_resource(document.root(), version, {{}, "urn:uuid:any"}).has_value());
    return fhir::json::write(document.root());
}

class Clinic {
 public:
    HttpAnswer answer(HttpRequest request) {
        request.target = "/fhir" + request.target;
        return endpoint_.answer(request);
    }

    // What it holds under the identifier of an entry.
    std::vector<practice::Stored> held(const std::string& label) const {
        std::vector<practice::Stored> found;
        for (const char* type : {"MedicationAdministration", "Observation"}) {
            for (const practice::Stored* one : store_.search(type, hub_system, id_of(label).urn()))
                found.push_back(*one);
        }
        return found;
    }
    std::size_t count(std::string_view type) const { return store_.search(type, "", "").size(); }
    bool holds(const std::string& label, const entry::Version& version) const {
        const auto there = held(label);
        if (there.size() != 1) return false;
        const auto ours = fhir::json::read(resource_of(version));
        const auto theirs = fhir::json::read(there[0].text);
        return fhir::exchange::same_content(ours->root(), theirs->root());
    }

    // The clinic takes up a patient: "Patient/…".
    std::string take_up(const std::string& system, const std::string& value) {
        const auto patient = fhir::json::read(R"({"resourceType":"Patient","identifier":[{"system":")" +
                                              system + R"(","value":")" + value + R"("}]})");
        return "Patient/" + store_.put(patient->root(), "Patient", "").id;
    }

    // Somebody at the clinic writes a new version of the entry's resource, with `from` replaced by `to`.
    void edit(const std::string& label, const std::string& from, const std::string& to) {
        const practice::Stored there = held(label).at(0);
        std::string text = there.text;
        if (!from.empty()) text.replace(text.find(from), from.size(), to);
        store_.put(fhir::json::read(text)->root(), there.type, there.id);
    }
    void touch(const std::string& label) { edit(label, "", ""); }
    // Somebody enters it a second time.
    void copy(const std::string& label) {
        const practice::Stored there = held(label).at(0);
        store_.put(fhir::json::read(there.text)->root(), there.type, "");
    }

 private:
    TemporaryFolder folder_;
    practice::RecordStore store_{folder_ / "clinic.ndjson"};
    practice::FhirEndpoint endpoint_{store_, "/fhir"};
};

// An answer with an OperationOutcome, as https://hl7.org/fhir/R4/operationoutcome.html describes it.
inline HttpAnswer outcome(int status, const std::string& words, HttpHeaders headers = {}) {
    return {
        status, std::move(headers),
        R"({"resourceType":"OperationOutcome","issue":[{"severity":"error","code":"processing","details":{"text":")" +
            words + R"("}}]})"};
}

inline std::string joined(const std::vector<std::string>& parts) {
    std::string all;
    for (const std::string& one : parts)
        all += (all.empty() ? "" : ",") + one;
    return all;
}

// A search answer that holds these resources.
inline HttpAnswer searchset(std::vector<std::string> resources) {
    for (std::string& one : resources)
        one = R"({"resource":)" + one + "}";
    return {200, {}, R"({"resourceType":"Bundle","type":"searchset","entry":[)" + joined(resources) + "]}"};
}

// The answer to a transaction, and an entry of it that says what was created.
inline HttpAnswer transaction_answer(const std::vector<std::string>& entries) {
    return {200,
            {},
            R"({"resourceType":"Bundle","type":"transaction-response","entry":[)" + joined(entries) + "]}"};
}
inline std::string taken(const std::string& location) {
    return R"({"response":{"status":"201 Created","location":")" + location + "\"}}";
}

}  // namespace nightferry::test
