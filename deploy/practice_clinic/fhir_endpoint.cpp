#include "deploy/practice_clinic/fhir_endpoint.hpp"

#include <algorithm>
#include <array>
#include <map>
#include <optional>

#include "fhir/check/validator.hpp"
#include "fhir/exchange/etag.hpp"
#include "fhir/exchange/query.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/json/writer.hpp"

namespace nightferry::practice {

namespace exchange = fhir::exchange;
namespace json = fhir::json;

namespace {

constexpr std::array<std::string_view, 6> types{
    "Patient", "RelatedPerson", "Device", "MedicationAdministration", "Observation", "Provenance"};

bool is_known(std::string_view type) {
    return std::find(types.begin(), types.end(), type) != types.end();
}

HttpAnswer fhir_answer(int status, std::string body) {
    return {status, {{"Content-Type", "application/fhir+json"}}, std::move(body)};
}

HttpAnswer outcome(int status, std::string_view severity, std::string_view words) {
    json::Document document;
    document.root().add_string("resourceType", "OperationOutcome");
    json::Value& issue = document.root().add_array("issue").push_object();
    issue.add_string("severity", severity);
    issue.add_string("code", severity == "error" ? "processing" : "informational");
    issue.add_object("details").add_string("text", words);
    return fhir_answer(status, json::write(document.root()));
}

HttpAnswer refusal(int status, std::string_view words) {
    return outcome(status, "error", words);
}

struct Wanted {
    std::string system;
    std::string value;
};

// Why the resource is not valid by the published definitions of a release; nothing when it is.
std::optional<std::string> fault_of(const json::Value& resource, fhir::spec::Release release) {
    fhir::check::Options errors_only;
    errors_only.warnings = false;
    const auto report = fhir::check::validate(resource, release, errors_only);
    if (report.issues.empty()) return std::nullopt;
    return report.issues.front().expression + ": " + report.issues.front().text;
}

// The identifier that a query asks for; nothing when it asks for none with its system.
std::optional<Wanted> identifier_in(std::string_view query) {
    for (const exchange::QueryParameter& parameter : exchange::read_query(query)) {
        if (parameter.name != "identifier") continue;
        const exchange::Token token = parameter.token();
        if (token.system && !token.system->empty()) return Wanted{*token.system, token.value};
    }
    return std::nullopt;
}

using Places = std::map<std::string, std::string, std::less<>>;

// A copy in which references to the bundle's own entries are the places where those were stored.
void copy_with_places(json::Value& into, const json::Value& from, const Places& places) {
    for (const json::Value& child : from) {
        const bool in_object = from.is(json::Kind::object);
        if (child.is(json::Kind::object)) {
            copy_with_places(in_object ? into.add_object(child.name()) : into.push_object(), child, places);
        } else if (child.is(json::Kind::array) && in_object) {
            copy_with_places(into.add_array(child.name()), child, places);
        } else if (const auto place = places.find(child.text());
                   child.name() == "reference" && place != places.end()) {
            into.add_string(child.name(), place->second);
        } else if (in_object) {
            into.add_copy(child.name(), child);
        } else {
            into.push_copy(child);
        }
    }
}

json::Document statement(fhir::spec::Release release) {
    json::Document document;
    json::Value& root = document.root();
    root.add_string("resourceType", "CapabilityStatement");
    root.add_string("status", "active");
    root.add_string("date", "2026-01-01");
    root.add_string("kind", "instance");
    root.add_object("implementation")
        .add_string("description", "Practice clinic for trying Nightferry; holds no real records");
    root.add_string("fhirVersion", fhir::spec::version_of(release));
    root.add_array("format").push_string("application/fhir+json");
    json::Value& rest = root.add_array("rest").push_object();
    rest.add_string("mode", "server");
    json::Value& resources = rest.add_array("resource");
    for (const std::string_view type : types) {
        json::Value& resource = resources.push_object();
        resource.add_string("type", type);
        json::Value& interactions = resource.add_array("interaction");
        for (const char* code : {"read", "create", "update", "search-type"})
            interactions.push_object().add_string("code", code);
        resource.add_string("versioning", "versioned");
        resource.add_boolean("updateCreate", true);
        resource.add_boolean("conditionalCreate", true);
        json::Value& validate = resource.add_array("operation").push_object();
        validate.add_string("name", "validate");
        validate.add_string("definition", "http://hl7.org/fhir/OperationDefinition/Resource-validate");
    }
    rest.add_array("interaction").push_object().add_string("code", "transaction");
    return document;
}

}  // namespace

HttpAnswer FhirEndpoint::answer(const HttpRequest& request) {
    std::string_view path = path_of(request.target);
    if (!path.starts_with(base_))
        return refusal(404, "nothing is served here; the base address ends in " + base_);
    path.remove_prefix(base_.size());
    while (path.starts_with('/'))
        path.remove_prefix(1);
    if (path.empty() && request.method == "POST") return transaction(request);
    if (path == "metadata" && request.method == "GET")
        return fhir_answer(200, json::write(statement(release_).root()));
    const auto slash = path.find('/');
    const std::string_view type = path.substr(0, slash);
    const std::string_view id = slash == std::string_view::npos ? std::string_view() : path.substr(slash + 1);
    if (!is_known(type)) return refusal(404, "this clinic keeps no such resources");
    if (request.method == "GET" && id.empty()) {
        const auto mark = request.target.find('?');
        return search(type, mark == std::string::npos ? std::string_view()
                                                      : std::string_view(request.target).substr(mark + 1));
    }
    if (request.method == "GET") {
        const Stored* stored = store_.find(type, id);
        return stored == nullptr ? refusal(404, "there is no such resource") : single({200, stored, {}});
    }
    const auto document = json::read(request.body);
    if (!document) return refusal(400, "the body is not valid JSON");
    if (request.method == "POST" && id == "$validate") return verdict(document->root());
    if (request.method == "POST" && id.empty()) {
        return single(create(document->root(), type, header(request.headers, "If-None-Exist")));
    }
    if (request.method == "PUT" && !id.empty()) {
        return single(update(document->root(), type, id, header(request.headers, "If-Match")));
    }
    return refusal(405, "this clinic does not do that");
}

HttpAnswer FhirEndpoint::single(const Outcome& outcome) const {
    if (outcome.stored == nullptr) return refusal(outcome.status, outcome.words);
    HttpAnswer answer = fhir_answer(outcome.status, outcome.stored->text);
    const std::string version = std::to_string(outcome.stored->version);
    answer.headers.emplace_back("ETag", exchange::etag_for(version));
    answer.headers.emplace_back(
        "Location", base_ + "/" + outcome.stored->type + "/" + outcome.stored->id + "/_history/" + version);
    return answer;
}

HttpAnswer FhirEndpoint::verdict(const json::Value& resource) const {
    const auto fault = fault_of(resource, release_);
    return fault ? outcome(200, "error", "the resource is not valid: " + *fault)
                 : outcome(200, "information", "the resource is valid");
}

FhirEndpoint::Outcome FhirEndpoint::create(const json::Value& resource, std::string_view type,
                                           std::string_view if_none_exist) {
    if (resource.string_at("resourceType") != type)
        return {400, nullptr, "the resource is of another type than its address"};
    if (const auto fault = fault_of(resource, release_))
        return {422, nullptr, "the resource is not valid: " + *fault};
    if (!if_none_exist.empty()) {
        const auto wanted = identifier_in(if_none_exist);
        if (!wanted) return {400, nullptr, "only a condition on identifier with its system is understood"};
        const auto matches = store_.search(type, wanted->system, wanted->value);
        if (matches.size() > 1) return {412, nullptr, "several resources match the condition"};
        if (matches.size() == 1) return {200, matches.front(), {}};
    }
    return {201, &store_.put(resource, type, {}), {}};
}

FhirEndpoint::Outcome FhirEndpoint::update(const json::Value& resource, std::string_view type,
                                           std::string_view id, std::string_view if_match) {
    if (resource.string_at("resourceType") != type || resource.string_at("id") != id) {
        return {400, nullptr, "the resource has another type or id than its address"};
    }
    if (const auto fault = fault_of(resource, release_))
        return {422, nullptr, "the resource is not valid: " + *fault};
    const Stored* there = store_.find(type, id);
    const std::string expected = exchange::version_in_etag(if_match);
    if (!expected.empty() && (there == nullptr || std::to_string(there->version) != expected)) {
        return {412, nullptr, "the resource has another version by now"};
    }
    const int status = there == nullptr ? 201 : 200;
    return {status, &store_.put(resource, type, std::string(id)), {}};
}

HttpAnswer FhirEndpoint::search(std::string_view type, std::string_view query) const {
    const Wanted wanted = identifier_in(query).value_or(Wanted{});
    json::Document bundle;
    bundle.root().add_string("resourceType", "Bundle");
    bundle.root().add_string("type", "searchset");
    const auto found = store_.search(type, wanted.system, wanted.value);
    bundle.root().add_number("total", std::to_string(found.size()));
    if (!found.empty()) {
        json::Value& entries = bundle.root().add_array("entry");
        for (const Stored* stored : found) {
            const auto document = json::read(stored->text);
            json::Value& entry = entries.push_object();
            entry.add_copy("resource", document->root());
            entry.add_object("search").add_string("mode", "match");
        }
    }
    return fhir_answer(200, json::write(bundle.root()));
}

HttpAnswer FhirEndpoint::transaction(const HttpRequest& request) {
    const auto document = json::read(request.body);
    const json::Value* entries = document ? document->root().find("entry") : nullptr;
    if (entries == nullptr || document->root().string_at("type") != "transaction")
        return refusal(400, "a transaction Bundle is expected");
    store_.begin();
    json::Document answer;
    answer.root().add_string("resourceType", "Bundle");
    answer.root().add_string("type", "transaction-response");
    json::Value& responses = answer.root().add_array("entry");
    Places places;
    for (const json::Value& entry : *entries) {
        const json::Value* asked = entry.find("request");
        const json::Value* resource = entry.find("resource");
        if (asked == nullptr || resource == nullptr) {
            store_.undo();
            return refusal(400, "every entry needs a request and a resource");
        }
        // Our bundles name a resource before they refer to it, so one run from front to back is enough here.
        json::Document settled;
        copy_with_places(settled.root(), *resource, places);
        const std::string_view url = asked->string_at("url");
        const auto slash = url.find('/');
        const Outcome outcome = asked->string_at("method") == "POST"
                                    ? create(settled.root(), url, asked->string_at("ifNoneExist"))
                                    : update(settled.root(), url.substr(0, slash), url.substr(slash + 1),
                                             asked->string_at("ifMatch"));
        if (outcome.stored == nullptr) {
            store_.undo();
            return refusal(outcome.status, outcome.words);
        }
        const std::string version = std::to_string(outcome.stored->version);
        const std::string place = outcome.stored->type + "/" + outcome.stored->id;
        places.emplace(entry.string_at("fullUrl"), place);
        json::Value& response = responses.push_object().add_object("response");
        response.add_string("status", outcome.status == 201 ? "201 Created" : "200 OK");
        response.add_string("location", place + "/_history/" + version);
        response.add_string("etag", exchange::etag_for(version));
    }
    store_.keep();
    return fhir_answer(200, json::write(answer.root()));
}

}  // namespace nightferry::practice
