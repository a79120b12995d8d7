#include "daemon/access/signing_key.hpp"

#include <openssl/bio.h>
#include <openssl/core_names.h>
#include <openssl/ec.h>
#include <openssl/ecdsa.h>
#include <openssl/evp.h>
#include <openssl/pem.h>
#include <openssl/rsa.h>

#include <array>
#include <stdexcept>

#include "daemon/access/base64.hpp"
#include "fhir/json/writer.hpp"

namespace nightferry::access {

namespace json = fhir::json;

namespace {

struct Row {
    Algorithm algorithm;
    std::string_view name;
    bool is_rsa;
    int curve_bits;  // Of the curve; 0 with RSA.
    const char* curve;
    std::string_view jwk_curve;
    const EVP_MD* (*digest)();
};
// RFC 7518 sections 3.3, 3.4 and 6.2.1.1.
const std::array<Row, 4> rows{{{Algorithm::rs256, "RS256", true, 0, "", "", &EVP_sha256},
                               {Algorithm::rs384, "RS384", true, 0, "", "", &EVP_sha384},
                               {Algorithm::es256, "ES256", false, 256, "P-256", "P-256", &EVP_sha256},
                               {Algorithm::es384, "ES384", false, 384, "P-384", "P-384", &EVP_sha384}}};

const Row& row_of(Algorithm algorithm) {
    return rows[static_cast<std::size_t>(algorithm)];
}

constexpr int rsa_bits_least = 2048;  // RFC 7518 section 3.3.

using Number = std::unique_ptr<BIGNUM, decltype(&BN_free)>;
using Bio = std::unique_ptr<BIO, decltype(&BIO_free)>;

// What only a lack of memory, or our own mistake, can make fail.
void must(bool worked, const char* what) {
    if (!worked) throw std::runtime_error(std::string("OpenSSL failed: ") + what);
}

Number number_of(EVP_PKEY* key, const char* name) {
    BIGNUM* number = nullptr;
    must(EVP_PKEY_get_bn_param(key, name, &number) == 1, name);
    return {number, &BN_free};
}

std::string bytes_of(const BIGNUM* number, int size) {
    std::string bytes(static_cast<std::size_t>(size), '\0');
    must(BN_bn2binpad(number, reinterpret_cast<unsigned char*>(bytes.data()), size) == size, "a number");
    return bytes;
}

// JWA writes r and s beside each other where OpenSSL writes DER (RFC 7518 section 3.4).
std::string beside_each_other(const std::string& der, int number_bytes) {
    const auto* at = reinterpret_cast<const unsigned char*>(der.data());
    const std::unique_ptr<ECDSA_SIG, decltype(&ECDSA_SIG_free)> pair(
        d2i_ECDSA_SIG(nullptr, &at, static_cast<long>(der.size())), &ECDSA_SIG_free);
    must(pair != nullptr, "the signature");
    return bytes_of(ECDSA_SIG_get0_r(pair.get()), number_bytes) +
           bytes_of(ECDSA_SIG_get0_s(pair.get()), number_bytes);
}

std::string sha256(std::string_view text) {
    std::string digest(32, '\0');
    must(EVP_Digest(text.data(), text.size(), reinterpret_cast<unsigned char*>(digest.data()), nullptr,
                    EVP_sha256(), nullptr) == 1,
         "SHA-256");
    return digest;
}

// A key that needs a pass phrase is refused rather than asked about.
int no_pass_phrase(char*, int, int, void*) {
    return -1;
}

}  // namespace

std::string_view name_of(Algorithm algorithm) {
    return row_of(algorithm).name;
}

std::optional<Algorithm> algorithm_named(std::string_view name) {
    for (const Row& row : rows) {
        if (row.name == name) return row.algorithm;
    }
    return std::nullopt;
}

Result<SigningKey> SigningKey::from_pem(const std::string& pem) {
    const Bio bio(BIO_new_mem_buf(pem.data(), static_cast<int>(pem.size())), &BIO_free);
    must(bio != nullptr, "memory");
    return from({PEM_read_bio_PrivateKey(bio.get(), nullptr, &no_pass_phrase, nullptr), &EVP_PKEY_free});
}

Result<SigningKey> SigningKey::from(std::unique_ptr<EVP_PKEY, void (*)(EVP_PKEY*)> key) {
    if (!key) return Error{Errc::setup, "holds no private key in PEM that can be read without a pass phrase"};
    const SigningKey made(std::shared_ptr<EVP_PKEY>(std::move(key)));
    if (made.is_rsa() && made.bits() < rsa_bits_least) {
        return Error{Errc::setup, "holds an RSA key of " + std::to_string(made.bits()) +
                                      " bits; fewer than 2048 are too weak"};
    }
    for (const Row& row : rows) {
        if (made.can(row.algorithm)) return made;
    }
    return Error{Errc::setup, "holds a key that is neither RSA nor of the curves P-256 and P-384"};
}

SigningKey SigningKey::make(Algorithm algorithm) {
    const Row& row = row_of(algorithm);
    EVP_PKEY* key = row.is_rsa ? EVP_RSA_gen(3072U) : EVP_EC_gen(row.curve);
    must(key != nullptr, "a new key");
    return SigningKey(std::shared_ptr<EVP_PKEY>(key, &EVP_PKEY_free));
}

bool SigningKey::is_rsa() const {
    return EVP_PKEY_is_a(key_.get(), "RSA") == 1;
}

int SigningKey::bits() const {
    return EVP_PKEY_get_bits(key_.get());
}

bool SigningKey::can(Algorithm algorithm) const {
    const Row& row = row_of(algorithm);
    if (row.is_rsa) return is_rsa() && bits() >= rsa_bits_least;
    if (EVP_PKEY_is_a(key_.get(), "EC") != 1) return false;
    // A curve has several names; EC_curve_nist2nid() knows the one of JWA.
    std::array<char, 80> group{};
    if (EVP_PKEY_get_group_name(key_.get(), group.data(), group.size(), nullptr) != 1) return false;
    return OBJ_txt2nid(group.data()) == EC_curve_nist2nid(row.curve);
}

Algorithm SigningKey::usual() const {
    if (is_rsa()) return Algorithm::rs384;
    return can(Algorithm::es384) ? Algorithm::es384 : Algorithm::es256;
}

std::string SigningKey::sign(Algorithm algorithm, std::string_view message) const {
    const Row& row = row_of(algorithm);
    const std::unique_ptr<EVP_MD_CTX, decltype(&EVP_MD_CTX_free)> context(EVP_MD_CTX_new(), &EVP_MD_CTX_free);
    must(context && EVP_DigestSignInit(context.get(), nullptr, row.digest(), nullptr, key_.get()) == 1,
         "signing");
    const auto* bytes = reinterpret_cast<const unsigned char*>(message.data());
    std::size_t size = 0;
    must(EVP_DigestSign(context.get(), nullptr, &size, bytes, message.size()) == 1, "signing");
    std::string signature(size, '\0');
    must(EVP_DigestSign(context.get(), reinterpret_cast<unsigned char*>(signature.data()), &size, bytes,
                        message.size()) == 1,
         "signing");
    signature.resize(size);
    return row.is_rsa ? signature : beside_each_other(signature, row.curve_bits / 8);
}

std::string SigningKey::to_pem() const {
    const Bio bio(BIO_new(BIO_s_mem()), &BIO_free);
    must(bio &&
             PEM_write_bio_PKCS8PrivateKey(bio.get(), key_.get(), nullptr, nullptr, 0, nullptr, nullptr) == 1,
         "the private key");
    char* text = nullptr;
    const long size = BIO_get_mem_data(bio.get(), &text);
    return {text, static_cast<std::size_t>(size)};
}

void SigningKey::put_required_members(json::Value& into) const {
    if (is_rsa()) {
        const Number e = number_of(key_.get(), OSSL_PKEY_PARAM_RSA_E);
        const Number n = number_of(key_.get(), OSSL_PKEY_PARAM_RSA_N);
        into.add_string("e", base64url(bytes_of(e.get(), BN_num_bytes(e.get()))));
        into.add_string("kty", "RSA");
        into.add_string("n", base64url(bytes_of(n.get(), BN_num_bytes(n.get()))));
        return;
    }
    const Row& row = row_of(usual());
    into.add_string("crv", row.jwk_curve);
    into.add_string("kty", "EC");
    for (const auto& [member, parameter] :
         {std::pair{"x", OSSL_PKEY_PARAM_EC_PUB_X}, std::pair{"y", OSSL_PKEY_PARAM_EC_PUB_Y}}) {
        into.add_string(member,
                        base64url(bytes_of(number_of(key_.get(), parameter).get(), row.curve_bits / 8)));
    }
}

std::string SigningKey::thumbprint() const {
    json::Document required;
    put_required_members(required.root());
    return base64url(sha256(json::write(required.root())));
}

void SigningKey::put_jwk(json::Value& into, Algorithm algorithm, const std::string& key_id) const {
    put_required_members(into);
    into.add_string("kid", key_id.empty() ? thumbprint() : key_id);
    into.add_string("use", "sig");
    into.add_string("alg", name_of(algorithm));
}

std::string jwk_set(const std::vector<PublicKey>& keys) {
    json::Document set;
    json::Value& list = set.root().add_array("keys");
    for (const PublicKey& key : keys)
        key.pair.put_jwk(list.push_object(), key.algorithm, key.id);
    return json::write_pretty(set.root());
}

std::string compact_jws(const SigningKey& key, Algorithm algorithm, const json::Value& header,
                        std::string_view payload) {
    const std::string signed_part = base64url(json::write(header)) + "." + base64url(payload);
    return signed_part + "." + base64url(key.sign(algorithm, signed_part));
}

}  // namespace nightferry::access
