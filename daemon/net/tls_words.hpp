// What TLS says when it fails, in words for people: what is wrong, and what somebody can do.
#pragma once

#include <openssl/x509.h>

#include <boost/system/error_code.hpp>
#include <optional>
#include <string>

#include "daemon/core/time.hpp"

namespace nightferry::net {

// Why the certificate that is being looked at is not trusted, with its dates where they are what is wrong.
// To be called while it is verified.
std::string words_for_certificate(X509_STORE_CTX* verifying, Instant now);

// The alert with which the other side ended the connection, if it did (RFC 8446 section 6).
std::optional<int> alert_of(const boost::system::error_code& failure);
// Whether it says that our certificate is missing or not taken.
bool is_about_our_certificate(int alert);
std::string words_for_alert(int alert);

// A handshake that failed otherwise.
std::string words_for_handshake(const boost::system::error_code& failure);

}  // namespace nightferry::net
