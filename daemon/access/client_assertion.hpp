// The signed statement by which a client shows a token server who it is (RFC 7523 section 2.2), as SMART
// Backend Services wants it, and the request for a token that carries it.
#pragma once

#include <string>

#include "daemon/access/signing_key.hpp"
#include "daemon/core/http.hpp"
#include "daemon/core/time.hpp"

namespace nightferry::access {

struct Signer {
    SigningKey key;
    Algorithm algorithm = Algorithm::rs384;
    std::string key_id;  // As the clinic knows it.
};

// `audience` is the token endpoint exactly as it is posted to; `unique` has never been used before. It is
// good for `assertion_life` from `now`: SMART allows five minutes, and clocks differ.
inline constexpr std::chrono::seconds assertion_life{240};
std::string client_assertion(const Signer& signer, const std::string& client_id, const std::string& audience,
                             const std::string& unique, Instant now);

// The body of a request by grant client_credentials (RFC 6749 section 4.4.2): with the assertion, or where it
// is empty with the client id only, as clients that show a certificate send it (RFC 8705 section 2).
std::string token_request_body(const std::string& scope, const std::string& client_id,
                               const std::string& assertion);

}  // namespace nightferry::access
