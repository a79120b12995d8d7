#include "fhir/exchange/bundle.hpp"

#include <array>

#include "fhir/exchange/outcome.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/json/writer.hpp"
#include "fhir/resource/datatypes.hpp"

namespace nightferry::fhir::exchange {

namespace {

bool is_id(std::string_view text) {
    if (text.empty() || text.size() > 64) return false;
    for (const char c : text) {
        const bool allowed = (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') ||
                             c == '-' || c == '.' || c == '_';  // Not FHIR's, but seen on servers.
        if (!allowed) return false;
    }
    return true;
}

bool is_type(std::string_view text) {
    return !text.empty() && text[0] >= 'A' && text[0] <= 'Z' && is_id(text);
}

int leading_status(std::string_view text) {
    if (text.size() < 3) return 0;
    int status = 0;
    for (const char c : text.substr(0, 3)) {
        if (c < '0' || c > '9') return 0;
        status = status * 10 + (c - '0');
    }
    return status;
}

// What the entry carries of the resource's identity, from wherever this server puts it.
std::optional<Location> location_of(const json::Value& entry, const json::Value& response) {
    std::optional<Location> location = parse_location(response.string_at("location"));
    const json::Value* resource = entry.find("resource");
    if (!location && resource != nullptr && is_id(resource->string_at("id"))) {
        location = Location{
            std::string(resource->string_at("resourceType")), std::string(resource->string_at("id")), {}};
    }
    if (!location) return std::nullopt;
    if (location->version.empty()) location->version = version_in_etag(response.string_at("etag"));
    const json::Value* meta = resource == nullptr ? nullptr : resource->find("meta");
    if (location->version.empty() && meta != nullptr) location->version = meta->string_at("versionId");
    return location;
}

}  // namespace

std::optional<Location> parse_location(std::string_view text) {
    std::vector<std::string_view> parts;
    while (!text.empty()) {
        const auto slash = text.find('/');
        parts.push_back(text.substr(0, slash));
        text = slash == std::string_view::npos ? std::string_view() : text.substr(slash + 1);
    }
    std::string version;
    if (parts.size() >= 4 && parts[parts.size() - 2] == "_history") {
        version = parts.back();
        parts.resize(parts.size() - 2);
    }
    if (parts.size() < 2 || !is_id(parts.back()) || !is_type(parts[parts.size() - 2])) return std::nullopt;
    return Location{std::string(parts[parts.size() - 2]), std::string(parts.back()), std::move(version)};
}

std::string version_in_etag(std::string_view etag) {
    if (etag.starts_with("W/")) etag.remove_prefix(2);
    if (etag.starts_with('"')) etag.remove_prefix(1);
    if (etag.ends_with('"')) etag.remove_suffix(1);
    return std::string(etag);
}

std::string etag_for(std::string_view version) {
    return "W/\"" + std::string(version) + "\"";
}

Transaction::Transaction() {
    document_.root().add_string("resourceType", "Bundle");
    document_.root().add_string("type", "transaction");
    entries_ = &document_.root().add_array("entry");
}

json::Value& Transaction::add(std::string_view full_url) {
    json::Value& entry = entries_->push_object();
    resource::put(entry, "fullUrl", full_url);
    return entry;
}

json::Value& Transaction::create(std::string_view type, std::string_view full_url,
                                 std::string_view if_none_exist) {
    json::Value& entry = add(full_url);
    json::Value& resource = entry.add_object("resource");
    json::Value& request = entry.add_object("request");
    request.add_string("method", "POST");
    request.add_string("url", type);
    resource::put(request, "ifNoneExist", if_none_exist);
    return resource;
}

json::Value& Transaction::update(std::string_view type, std::string_view id, std::string_view full_url,
                                 std::string_view if_match) {
    json::Value& entry = add(full_url);
    json::Value& resource = entry.add_object("resource");
    json::Value& request = entry.add_object("request");
    request.add_string("method", "PUT");
    request.add_string("url", std::string(type) + "/" + std::string(id));
    if (!if_match.empty()) request.add_string("ifMatch", etag_for(if_match));
    return resource;
}

std::string Transaction::text() const {
    return json::write(document_.root());
}

std::optional<std::vector<EntryAnswer>> read_transaction_answer(std::string_view text) {
    const auto document = json::read(text);
    if (!document) return std::nullopt;
    const json::Value& root = document->root();
    const auto type = root.string_at("type");
    if (root.string_at("resourceType") != "Bundle" ||
        (type != "transaction-response" && type != "batch-response")) {
        return std::nullopt;
    }
    std::vector<EntryAnswer> answers;
    const json::Value* entries = root.find("entry");
    if (entries == nullptr || !entries->is(json::Kind::array)) return answers;
    for (const json::Value& entry : *entries) {
        EntryAnswer answer;
        if (const json::Value* response = entry.find("response")) {
            answer.status = leading_status(response->string_at("status"));
            answer.location = location_of(entry, *response);
            if (const json::Value* outcome = response->find("outcome"))
                answer.words = outcome_words(*outcome);
        }
        answers.push_back(std::move(answer));
    }
    return answers;
}

}  // namespace nightferry::fhir::exchange
