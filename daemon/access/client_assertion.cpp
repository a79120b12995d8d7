#include "daemon/access/client_assertion.hpp"

#include "fhir/json/writer.hpp"

namespace nightferry::access {

namespace json = fhir::json;

std::string client_assertion(const Signer& signer, const std::string& client_id, const std::string& audience,
                             const std::string& unique, Instant now) {
    json::Document header;
    header.root().add_string("alg", name_of(signer.algorithm));
    header.root().add_string("kid", signer.key_id);
    header.root().add_string("typ", "JWT");
    json::Document claims;
    const auto expires = std::chrono::floor<std::chrono::seconds>(now + assertion_life);
    claims.root().add_string("iss", client_id);
    claims.root().add_string("sub", client_id);
    claims.root().add_string("aud", audience);
    claims.root().add_number("exp", std::to_string(expires.time_since_epoch().count()));
    claims.root().add_string("jti", unique);
    return compact_jws(signer.key, signer.algorithm, header.root(), json::write(claims.root()));
}

std::string token_request_body(const std::string& scope, const std::string& client_id,
                               const std::string& assertion) {
    std::string body = "grant_type=client_credentials&scope=" + percent_encode(scope);
    if (assertion.empty()) return body + "&client_id=" + percent_encode(client_id);
    return body + "&client_assertion_type=" +
           percent_encode("urn:ietf:params:oauth:client-assertion-type:jwt-bearer") +
           "&client_assertion=" + percent_encode(assertion);
}

}  // namespace nightferry::access
