// The certificate by which phones at home know the hub: making one that signs itself, and reading what one
// says. A certificate of an authority that the family runs serves as well.
#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <vector>

#include "daemon/core/result.hpp"
#include "daemon/core/time.hpp"
#include "daemon/net/tls_settings.hpp"

namespace nightferry::net {

// Names of hosts and addresses in numbers, as the subjectAltName of the first certificate of a PEM text has
// them (RFC 5280 section 4.2.1.6), in lower case; none when there is no certificate.
std::vector<std::string> names_in(const std::string& pem);

// SHA-256 of the first certificate, as browsers show it: "AB:CD:…"; nothing when there is none.
std::optional<std::string> fingerprint_of(const std::string& pem);

struct CertificateWish {
    std::vector<std::string> names;  // Of hosts, or addresses in numbers; at least one.
    Instant from;
    std::chrono::days days{397};
};

// A new key on P-256 and a certificate for it that signs itself. Errc::bad_input when one of the names is
// neither.
Result<ServerIdentity> make_certificate(const CertificateWish& wish);

}  // namespace nightferry::net
