#include "fhir/exchange/search.hpp"

#include <algorithm>
#include <cctype>

#include "fhir/json/reader.hpp"
#include "fhir/json/writer.hpp"

namespace nightferry::fhir::exchange {

namespace {

std::string encoded(std::string_view text) {
    constexpr char digits[] = "0123456789ABCDEF";
    std::string result;
    for (const char c : text) {
        const auto byte = static_cast<unsigned char>(c);
        if (c == ',' || c == '$' || c == '|' || c == '\\') {
            // FHIR search escapes these with a backslash inside one value.
            result += "%5C";
        }
        if (std::isalnum(byte) != 0 || c == '-' || c == '.' || c == '_' || c == '~' || c == ':' || c == '/') {
            result += c;
        } else {
            result += '%';
            result += digits[byte >> 4];
            result += digits[byte & 15];
        }
    }
    return result;
}

std::optional<Found> found_in(const json::Value& resource) {
    const auto type = resource.string_at("resourceType");
    const auto id = resource.string_at("id");
    if (type.empty() || id.empty()) return std::nullopt;
    const json::Value* meta = resource.find("meta");
    const std::string version(meta == nullptr ? std::string_view() : meta->string_at("versionId"));
    return Found{{std::string(type), std::string(id), version}, json::write(resource)};
}

}  // namespace

std::string identifier_query(std::string_view system, std::string_view value) {
    return "identifier=" + encoded(system) + "%7C" + encoded(value);
}

std::optional<Found> read_resource(std::string_view text) {
    const auto document = json::read(text);
    if (!document) return std::nullopt;
    return found_in(document->root());
}

bool bears_identifier(std::string_view resource, std::string_view system, std::string_view value) {
    const auto document = json::read(resource);
    const json::Value* identifiers = document ? document->root().find("identifier") : nullptr;
    if (identifiers == nullptr) return false;
    return std::any_of(identifiers->begin(), identifiers->end(), [&](const json::Value& one) {
        return one.string_at("system") == system && one.string_at("value") == value;
    });
}

std::optional<std::vector<Found>> read_search_answer(std::string_view text) {
    const auto document = json::read(text);
    if (!document) return std::nullopt;
    const json::Value& root = document->root();
    if (root.string_at("resourceType") != "Bundle" || root.string_at("type") != "searchset")
        return std::nullopt;
    std::vector<Found> matches;
    const json::Value* entries = root.find("entry");
    if (entries == nullptr) return matches;
    for (const json::Value& entry : *entries) {
        const json::Value* search = entry.find("search");
        const auto mode = search == nullptr ? std::string_view() : search->string_at("mode");
        const json::Value* resource = entry.find("resource");
        if (resource == nullptr || mode == "include" || mode == "outcome") continue;
        if (auto found = found_in(*resource)) matches.push_back(std::move(*found));
    }
    return matches;
}

}  // namespace nightferry::fhir::exchange
