// Requests as the hub sends them, for the tests of the model clinic.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "fhir/exchange/bundle.hpp"
#include "fhir/exchange/bundle_answer.hpp"
#include "fhir/exchange/query.hpp"
#include "fhir/exchange/search.hpp"
#include "fhir/json/reader.hpp"
#include "tests/sim/model_clinic.hpp"

namespace nightferry::sim {

inline constexpr std::string_view ours = "urn:hub:entries";
inline constexpr std::string_view dose_type = "MedicationAdministration";

inline std::string condition(std::string_view value) {
    return fhir::exchange::identifier_query(ours, value);
}

inline void fill(fhir::json::Value& resource, std::string_view type, std::string_view identifier) {
    resource.add_string("resourceType", type);
    fhir::json::Value& its = resource.add_array("identifier").push_object();
    its.add_string("system", ours);
    its.add_string("value", identifier);
    resource.add_string("status", "completed");
}

inline std::string resource_text(std::string_view type, std::string_view identifier,
                                 std::string_view id = {}) {
    std::string text = R"({"resourceType":")" + std::string(type) + R"(",)";
    if (!id.empty()) text += R"("id":")" + std::string(id) + R"(",)";
    return text + R"("identifier":[{"system":")" + std::string(ours) + R"(","value":")" +
           std::string(identifier) + R"("}],"dosage":{"dose":{"value":1.50}}})";
}

inline HttpRequest create(std::string_view type, std::string_view identifier, bool conditional = true) {
    HttpRequest request{"POST", "/" + std::string(type), {}, resource_text(type, identifier)};
    if (conditional) request.headers.emplace_back("If-None-Exist", condition(identifier));
    return request;
}

inline HttpRequest put(std::string_view type, std::string_view id, std::string_view identifier,
                       HttpHeaders headers = {}) {
    return {"PUT", "/" + std::string(type) + "/" + std::string(id), std::move(headers),
            resource_text(type, identifier, id)};
}

inline HttpRequest lookup(std::string_view type, std::string_view identifier) {
    return {"GET", "/" + std::string(type) + "?" + condition(identifier), {}, {}};
}

inline HttpRequest look_at(const std::string& place) {
    return {"GET", "/" + place, {}, {}};
}

inline HttpRequest send(const fhir::exchange::Transaction& bundle) {
    return {"POST", "", {{"Content-Type", "application/fhir+json"}}, bundle.text()};
}

// A dose, its Provenance, and an observation after it, each referring to the dose.
inline fhir::exchange::Transaction dose_bundle(
    std::string_view name, fhir::exchange::BundleKind kind = fhir::exchange::BundleKind::transaction) {
    fhir::exchange::Transaction bundle(kind);
    const std::string dose = "urn:uuid:dose-" + std::string(name);
    const std::string finding = "finding-" + std::string(name);
    fill(bundle.create(dose_type, dose, condition(name)), dose_type, name);
    fhir::json::Value& provenance = bundle.update("Provenance", "p-" + std::string(name), {}, {});
    provenance.add_string("resourceType", "Provenance");
    provenance.add_string("id", "p-" + std::string(name));
    provenance.add_array("target").push_object().add_string("reference", dose);
    fhir::json::Value& observation = bundle.create("Observation", "urn:uuid:" + finding, condition(finding));
    fill(observation, "Observation", finding);
    observation.add_array("partOf").push_object().add_string("reference", dose);
    return bundle;
}

// The statuses in the answer to a Bundle; empty when it cannot be read.
inline std::vector<int> statuses(const HttpAnswer& answer) {
    std::vector<int> found;
    if (const auto bundle = fhir::exchange::read_bundle_answer(answer.body)) {
        for (const auto& entry : bundle->entries)
            found.push_back(entry.status);
    }
    return found;
}

inline bool fits(const fhir::exchange::Transaction& asked, fhir::exchange::BundleKind kind,
                 const HttpAnswer& answer) {
    const auto bundle = fhir::exchange::read_bundle_answer(answer.body);
    return bundle && !fhir::exchange::find_mismatch(kind, asked.asked(), *bundle);
}

// How many matches a search finds; -1 when the answer cannot be read.
inline int found(const HttpAnswer& answer) {
    const auto read = fhir::exchange::read_search_answer(answer.body);
    return read ? static_cast<int>(read->matches.size()) : -1;
}

inline bool refuses_words(const fhir::json::Value& resource, std::string_view identifier) {
    const auto items = resource.items_at("identifier");
    return !items.empty() && items.front().string_at("value") == identifier;
}

}  // namespace nightferry::sim
