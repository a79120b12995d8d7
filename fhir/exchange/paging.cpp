#include "fhir/exchange/paging.hpp"

#include <algorithm>

#include "fhir/json/ascii.hpp"

namespace nightferry::fhir::exchange {

namespace {

constexpr std::size_t link_bytes_max = 16'384;

bool same_without_case(std::string_view one, std::string_view other) {
    return std::equal(one.begin(), one.end(), other.begin(), other.end(),
                      [](char a, char b) { return ascii::lower(a) == ascii::lower(b); });
}

// An http or https address in two: the host with its port unless that is the usual one, and the rest.
struct Address {
    std::string_view host;
    std::string_view rest;
};

std::optional<Address> address_in(std::string_view url) {
    const auto colon = url.find("://");
    if (colon == std::string_view::npos) return std::nullopt;
    const std::string_view scheme = url.substr(0, colon);
    const bool tls = same_without_case(scheme, "https");
    if (!tls && !same_without_case(scheme, "http")) return std::nullopt;
    url.remove_prefix(colon + 3);
    const auto end = std::min(url.find_first_of("/?"), url.size());
    std::string_view host = url.substr(0, end);
    const std::string_view usual_port = tls ? ":443" : ":80";
    if (host.ends_with(usual_port)) host.remove_suffix(usual_port.size());
    return Address{host, url.substr(end)};
}

std::string_view path_of(std::string_view target) {
    return target.substr(0, target.find('?'));
}

// No characters that a request line could stumble over, and no dot segments, neither plain nor encoded: they
// could lead out of the base.
bool is_harmless(std::string_view link) {
    const std::string_view path = path_of(link);
    const bool plain = std::all_of(link.begin(), link.end(), [](char c) {
        const auto byte = static_cast<unsigned char>(c);
        return byte > 0x20 && byte < 0x7F && c != '\\';
    });
    if (!plain || path.starts_with('.') || path.find("/.") != std::string_view::npos) return false;
    for (const char* encoded : {"%2e", "%2E", "%2f", "%2F", "%5c", "%5C"}) {
        if (path.find(encoded) != std::string_view::npos) return false;
    }
    return true;
}

// What stands behind the base's own path; nothing when the path lies elsewhere.
std::optional<std::string> behind(std::string_view base_path, std::string_view path) {
    if (!path.starts_with(base_path)) return std::nullopt;
    path.remove_prefix(base_path.size());
    if (!path.empty() && !path.starts_with('/') && !path.starts_with('?')) return std::nullopt;
    return std::string(path);
}

}  // namespace

std::optional<std::string> target_within(std::string_view base_url, std::string_view asked,
                                         std::string_view link) {
    link = link.substr(0, link.find('#'));
    if (link.empty() || link.size() > link_bytes_max || !is_harmless(link)) return std::nullopt;
    while (base_url.ends_with('/'))
        base_url.remove_suffix(1);
    const auto base = address_in(base_url);
    if (!base || link.starts_with("//")) return std::nullopt;
    const bool has_scheme = link.find(':') < link.find_first_of("/?");
    if (has_scheme) {
        const auto address = address_in(link);
        if (!address || !same_without_case(address->host, base->host)) return std::nullopt;
        return behind(base->rest, address->rest);
    }
    if (link.starts_with('/')) return behind(base->rest, link);
    const std::string_view path = path_of(asked);
    if (link.starts_with('?')) return std::string(path) + std::string(link);
    return std::string(path.substr(0, path.rfind('/') + 1)) + std::string(link);
}

}  // namespace nightferry::fhir::exchange
