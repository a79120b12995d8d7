#include "daemon/core/web_address.hpp"

#include <boost/url.hpp>
#include <charconv>

namespace nightferry {

namespace {

constexpr std::uint16_t usual_port(bool tls) {
    return tls ? 443 : 80;
}

// The port written, or the scheme's own; nothing when it is no port.
std::optional<std::uint16_t> port_of(const boost::urls::url_view& url, bool tls) {
    const std::string_view text = url.port();
    if (!url.has_port() || text.empty()) return usual_port(tls);
    unsigned port = 0;
    const auto [end, failure] = std::from_chars(text.data(), text.data() + text.size(), port);
    if (failure != std::errc() || end != text.data() + text.size() || port < 1 || port > 65'535)
        return std::nullopt;
    return static_cast<std::uint16_t>(port);
}

std::optional<WebAddress> taken_apart(const boost::urls::url_view& url) {
    using boost::urls::scheme;
    if (url.scheme_id() != scheme::https && url.scheme_id() != scheme::http) return std::nullopt;
    WebAddress address;
    address.tls = url.scheme_id() == scheme::https;
    address.host = url.host_address();
    const auto port = port_of(url, address.tls);
    const bool has_plain_path = url.encoded_path().empty() || url.encoded_path().starts_with('/');
    if (address.host.empty() || !port || !has_plain_path) return std::nullopt;
    // Names compare without case (RFC 3986 section 3.2.2).
    for (char& letter : address.host)
        letter = static_cast<char>(letter >= 'A' && letter <= 'Z' ? letter + ('a' - 'A') : letter);
    address.port = *port;
    address.path = std::string(url.encoded_path());
    address.query = std::string(url.encoded_query());
    address.has_credentials = url.has_userinfo();
    address.has_fragment = url.has_fragment();
    return address;
}

}  // namespace

std::optional<WebAddress> WebAddress::parse(std::string_view text) {
    const auto url = boost::urls::parse_uri(text);
    return url ? taken_apart(*url) : std::nullopt;
}

std::optional<WebAddress> WebAddress::resolve(std::string_view base, std::string_view reference) {
    const auto from = boost::urls::parse_uri(base);
    const auto to = boost::urls::parse_uri_reference(reference);
    if (!from || !to) return std::nullopt;
    boost::urls::url resolved;
    if (!boost::urls::resolve(*from, *to, resolved)) return std::nullopt;
    return taken_apart(resolved);
}

std::string WebAddress::authority() const {
    const std::string name = host.find(':') == std::string::npos ? host : "[" + host + "]";
    return port == usual_port(tls) ? name : name + ":" + std::to_string(port);
}

std::string WebAddress::target() const {
    return (path.empty() ? "/" : path) + (query.empty() ? "" : "?" + query);
}

}  // namespace nightferry
