// How a TLS connection is made and whom it trusts.
#pragma once

#include <boost/asio/ssl/context.hpp>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "daemon/core/result.hpp"
#include "daemon/core/time.hpp"

namespace nightferry::net {

struct TlsSettings {
    std::optional<std::filesystem::path> trust;  // PEM file of the only CAs to trust; absent: the system's.
    // If any: what the SHA-256 of the public key of one certificate in the chain has to be, in base64 as RFC
    // 7469 section 2.4 computes it; a second one is for a planned change.
    std::vector<std::string> pins;
    // PEM of this hub's own certificate, with those between it and its CA, and its private key; empty: none.
    std::string certificate;
    std::string key;
};

// TLS 1.2 and 1.3 only, with forward secrecy, at OpenSSL's security level 2 (no RSA below 2048 bits, no
// SHA-1). Errc::setup when the files do not serve.
Result<boost::asio::ssl::context> make_tls_context(const TlsSettings& settings);

// What a server shows of itself: its certificate with those between it and its CA, and its private key.
struct ServerIdentity {
    std::string certificate;  // PEM, as the key.
    std::string key;
};

// The same rules for a server, with authenticated encryption only and its own choice among what a client
// offers; clients need no certificate.
// Errc::setup when certificate and key do not serve; the error tells nothing of the key.
Result<boost::asio::ssl::context> make_tls_context(const ServerIdentity& identity);

// Nothing when it is no time.
std::optional<Instant> instant_of(const ASN1_TIME* time);

// The end of validity of the first certificate in a PEM text; nothing when there is none.
std::optional<Instant> end_of_validity(const std::string& pem);

// Looks at a connection whose handshake is done.
// Whether one of the certificates by which it was trusted has a pinned key.
bool has_pinned_key(SSL* connection, const std::vector<std::string>& pins);
// When the first of the certificates by which it was trusted ends; nothing when it was resumed.
std::optional<Instant> end_of_trust(SSL* connection);

}  // namespace nightferry::net
