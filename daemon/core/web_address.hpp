// An absolute http or https address, taken apart.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace nightferry {

struct WebAddress {
    bool tls = true;
    std::string host;  // A name, or an IP address without brackets.
    std::uint16_t port = 443;
    std::string path;  // Still escaped; as written, so it may be empty or end in a slash.
    std::string query;
    bool has_credentials = false;  // Somebody wrote user:password into it.
    bool has_fragment = false;

    // Nothing when the text is no such address, or its port is none.
    static std::optional<WebAddress> parse(std::string_view text);
    // Of a reference that stands in a document at `base`, such as "../token" (RFC 3986 section 5).
    static std::optional<WebAddress> resolve(std::string_view base, std::string_view reference);

    // Scheme, host and port: RFC 6454.
    bool is_same_origin(const WebAddress& other) const {
        return tls == other.tls && host == other.host && port == other.port;
    }
    // This machine itself: nothing that is sent there can be read on the way.
    bool is_loopback() const { return host == "localhost" || host == "127.0.0.1" || host == "::1"; }
    // "clinic.example", or "[::1]:8443" where the port is not the usual one; what a Host header says.
    std::string authority() const;
    std::string origin() const { return (tls ? "https://" : "http://") + authority(); }
    // Path and query, as a request line names them.
    std::string target() const;
    std::string to_string() const { return origin() + path + (query.empty() ? "" : "?" + query); }
};

}  // namespace nightferry
