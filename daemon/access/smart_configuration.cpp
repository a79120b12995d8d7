#include "daemon/access/smart_configuration.hpp"

#include <algorithm>

#include "daemon/core/web_address.hpp"
#include "daemon/core/words.hpp"
#include "fhir/json/reader.hpp"

namespace nightferry::access {

namespace json = fhir::json;

namespace {

std::vector<std::string> texts_at(const json::Value& object, std::string_view name) {
    std::vector<std::string> texts;
    const json::Value* list = object.find(name);
    if (list == nullptr || !list->is(json::Kind::array)) return texts;
    for (const json::Value& item : *list) {
        if (item.is(json::Kind::string)) texts.emplace_back(item.text());
    }
    return texts;
}

// Nothing is quoted that may hold a password.
std::string not_usable(std::string_view endpoint) {
    if (endpoint.find('@') != std::string_view::npos)
        return "names a token endpoint with a password in it, which is not used";
    return "names " + in_quotes(endpoint) + " as its token endpoint, which is none: it has to be https";
}

// As it was written, where that is an address by itself: the assertion names it letter by letter.
std::string absolute(const std::string& base, std::string_view reference) {
    if (reference.empty()) return {};
    auto address = WebAddress::parse(reference);
    const bool is_whole = address.has_value();
    // The base is a folder, whether or not it is written with a slash at its end.
    if (!address) address = WebAddress::resolve(base.ends_with('/') ? base : base + "/", reference);
    if (!address || address->has_credentials || address->has_fragment) return {};
    return is_whole ? std::string(reference) : address->to_string();
}

bool contains(const std::vector<std::string>& texts, std::string_view text) {
    return std::find(texts.begin(), texts.end(), text) != texts.end();
}

}  // namespace

bool SmartConfiguration::has_capability(std::string_view name) const {
    return contains(capabilities, name);
}

Result<SmartConfiguration> read_smart_configuration(std::string_view body, const std::string& base) {
    const auto document = json::read(body);
    if (!document || !document->root().is(json::Kind::object))
        return Error{Errc::bad_input, "is no JSON object"};
    const json::Value& root = document->root();
    SmartConfiguration read;
    read.token_endpoint = absolute(base, root.string_at("token_endpoint"));
    if (const auto endpoint = root.string_at("token_endpoint"); endpoint.empty()) {
        return Error{Errc::bad_input, "names no token endpoint"};
    } else if (read.token_endpoint.empty()) {
        return Error{Errc::bad_input, not_usable(endpoint)};
    }
    if (const json::Value* aliases = root.find("mtls_endpoint_aliases"))
        read.mtls_token_endpoint = absolute(base, aliases->string_at("token_endpoint"));
    read.grant_types = texts_at(root, "grant_types_supported");
    // Required since version 2; older servers say nothing, and may all the same.
    if (!read.grant_types.empty() && !contains(read.grant_types, "client_credentials"))
        return Error{Errc::bad_input, "does not offer client_credentials, so no hub can sign in by itself"};
    read.auth_methods = texts_at(root, "token_endpoint_auth_methods_supported");
    read.signing_algorithms = texts_at(root, "token_endpoint_auth_signing_alg_values_supported");
    read.capabilities = texts_at(root, "capabilities");
    return read;
}

}  // namespace nightferry::access
