// A key pair with which the hub shows a clinic's token server who it is: RSA, or elliptic curves P-256 and
// P-384, over OpenSSL. Private keys are files that people keep; only the public half goes to a clinic.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "daemon/core/result.hpp"
#include "fhir/json/document.hpp"

typedef struct evp_pkey_st EVP_PKEY;

namespace nightferry::access {

// How signatures are made, by the names of RFC 7518 section 3.1. SMART Backend Services asks every client for
// RS384 and ES384; other token servers take RS256 or ES256.
enum class Algorithm { rs256, rs384, es256, es384 };
std::string_view name_of(Algorithm algorithm);
std::optional<Algorithm> algorithm_named(std::string_view name);

class SigningKey {
 public:
    // A private key in PEM, without a pass phrase. Errc::setup when it is no such key, or one that is too
    // weak or of another kind than those above.
    static Result<SigningKey> from_pem(const std::string& pem);
    // A new one: RSA of 3072 bits, or the algorithm's curve.
    static SigningKey make(Algorithm algorithm);
    // Takes over a private key that OpenSSL holds.
    static Result<SigningKey> from(std::unique_ptr<EVP_PKEY, void (*)(EVP_PKEY*)> key);

    // Whether it can sign in this way; `usual()` is the way in which SMART wants this kind of key to sign.
    bool can(Algorithm algorithm) const;
    Algorithm usual() const;

    // RFC 7515 section 5.1 step 5: the bytes of the signature, as JWA writes them.
    std::string sign(Algorithm algorithm, std::string_view message) const;

    // PKCS #8 in PEM (RFC 5958): the private key. Whoever has it is this hub.
    std::string to_pem() const;
    // RFC 7638 with SHA-256: the same for the same key wherever it is computed, so it serves as key id.
    std::string thumbprint() const;
    // Puts the public half in as a JWK (RFC 7517) with use, alg and kid, which is the thumbprint unless it is
    // given.
    void put_jwk(fhir::json::Value& into, Algorithm algorithm, const std::string& key_id) const;

 private:
    explicit SigningKey(std::shared_ptr<EVP_PKEY> key) : key_(std::move(key)) {}
    bool is_rsa() const;
    int bits() const;
    // The members that RFC 7638 counts, in its order.
    void put_required_members(fhir::json::Value& into) const;
    std::shared_ptr<EVP_PKEY> key_;
};

struct PublicKey {
    SigningKey pair;
    Algorithm algorithm = Algorithm::es384;
    std::string id;  // Empty: its thumbprint.
};

// What is handed to a clinic: the public halves as a JWK Set (RFC 7517 section 5).
std::string jwk_set(const std::vector<PublicKey>& keys);

// The compact serialization of RFC 7515 section 7.1.
std::string compact_jws(const SigningKey& key, Algorithm algorithm, const fhir::json::Value& header,
                        std::string_view payload);

}  // namespace nightferry::access
