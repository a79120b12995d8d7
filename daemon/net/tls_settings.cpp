#include "daemon/net/tls_settings.hpp"

#include <openssl/bio.h>
#include <openssl/err.h>
#include <openssl/evp.h>
#include <openssl/pem.h>
#include <openssl/ssl.h>
#include <openssl/x509.h>
#include <openssl/x509v3.h>

#include <algorithm>
#include <ctime>
#include <memory>

namespace nightferry::net {

namespace asio = boost::asio;
using boost::system::error_code;

namespace {

// Of TLS 1.2, as a client: what servers of some age have.
constexpr char suites_with_servers[] =
    "ECDHE+AESGCM:ECDHE+CHACHA20:DHE+AESGCM:DHE+CHACHA20:ECDHE+AES256:ECDHE+AES128:!aNULL:!eNULL";
// As a server: what every browser has. Forward secrecy and authenticated encryption only.
constexpr char suites_with_clients[] = "ECDHE+AESGCM:ECDHE+CHACHA20";
// RFC 7301: the length, then the name.
constexpr unsigned char http11[] = {8, 'h', 't', 't', 'p', '/', '1', '.', '1'};

std::string pin_of(X509* certificate) {
    unsigned char* der = nullptr;
    const int size = i2d_X509_PUBKEY(X509_get_X509_PUBKEY(certificate), &der);
    if (size <= 0) return {};
    std::string digest(EVP_MAX_MD_SIZE, '\0');
    unsigned digest_size = 0;
    const bool worked =
        EVP_Digest(der, static_cast<std::size_t>(size), reinterpret_cast<unsigned char*>(digest.data()),
                   &digest_size, EVP_sha256(), nullptr) == 1;
    OPENSSL_free(der);
    if (!worked) return {};
    std::string text((digest_size + 2) / 3 * 4, '\0');
    EVP_EncodeBlock(reinterpret_cast<unsigned char*>(text.data()),
                    reinterpret_cast<const unsigned char*>(digest.data()), static_cast<int>(digest_size));
    return text;
}

// The certificate first, as the key is checked against it.
Result<void> show_certificate(asio::ssl::context& context, const std::string& certificate,
                              const std::string& key) {
    error_code failure;
    // Nobody is there to be asked.
    context.set_password_callback(
        [](std::size_t, asio::ssl::context::password_purpose) { return std::string(); }, failure);
    context.use_certificate_chain(asio::buffer(certificate), failure);
    if (!failure) context.use_private_key(asio::buffer(key), asio::ssl::context::pem, failure);
    if (!failure) return {};
    return Error{Errc::setup, "this hub's own certificate or its key cannot be used: " + failure.message()};
}

void allow_modern_tls_only(SSL_CTX* handle, const char* suites) {
    SSL_CTX_set_security_level(handle, 2);
    SSL_CTX_set_min_proto_version(handle, TLS1_2_VERSION);
    SSL_CTX_set_cipher_list(handle, suites);
    SSL_CTX_set_options(handle, SSL_OP_NO_COMPRESSION | SSL_OP_NO_RENEGOTIATION);
}

// RFC 7301 section 3.2. Who offers other protocols only is served HTTP/1.1 all the same.
int choose_http11(SSL*, const unsigned char** chosen, unsigned char* size, const unsigned char* offered,
                  unsigned offered_size, void*) {
    unsigned char* found = nullptr;
    const int outcome = SSL_select_next_proto(&found, size, http11, sizeof http11, offered, offered_size);
    if (outcome != OPENSSL_NPN_NEGOTIATED) return SSL_TLSEXT_ERR_NOACK;
    *chosen = found;
    return SSL_TLSEXT_ERR_OK;
}

}  // namespace

std::optional<Instant> instant_of(const ASN1_TIME* time) {
    std::tm parts{};
    if (time == nullptr || ASN1_TIME_to_tm(time, &parts) != 1) return std::nullopt;
    return Instant{std::chrono::seconds{::timegm(&parts)}};
}

Result<asio::ssl::context> make_tls_context(const TlsSettings& settings) {
    asio::ssl::context context(asio::ssl::context::tls_client);
    allow_modern_tls_only(context.native_handle(), suites_with_servers);
    SSL_CTX_set_alpn_protos(context.native_handle(), http11, sizeof http11);
    context.set_verify_mode(asio::ssl::verify_peer);
    error_code failure;
    if (settings.trust) {
        context.load_verify_file(settings.trust->string(), failure);
        if (failure) {
            return Error{Errc::setup,
                         "the CA file " + settings.trust->string() + " cannot be used: " + failure.message()};
        }
    } else {
        context.set_default_verify_paths(failure);
        if (failure)
            return Error{Errc::setup, "the system's CA certificates cannot be used: " + failure.message()};
    }
    if (settings.certificate.empty()) return context;
    const auto shown = show_certificate(context, settings.certificate, settings.key);
    if (!shown) return shown.error();
    return context;
}

Result<asio::ssl::context> make_tls_context(const ServerIdentity& identity) {
    asio::ssl::context context(asio::ssl::context::tls_server);
    SSL_CTX* handle = context.native_handle();
    allow_modern_tls_only(handle, suites_with_clients);
    SSL_CTX_set_options(handle, SSL_OP_CIPHER_SERVER_PREFERENCE);
    SSL_CTX_set_alpn_select_cb(handle, &choose_http11, nullptr);
    const auto shown = show_certificate(context, identity.certificate, identity.key);
    if (!shown) return shown.error();
    return context;
}

std::optional<Instant> end_of_validity(const std::string& pem) {
    const std::unique_ptr<BIO, decltype(&BIO_free)> bio(
        BIO_new_mem_buf(pem.data(), static_cast<int>(pem.size())), &BIO_free);
    const std::unique_ptr<X509, decltype(&X509_free)> certificate(
        PEM_read_bio_X509(bio.get(), nullptr, nullptr, nullptr), &X509_free);
    ERR_clear_error();
    return certificate ? instant_of(X509_get0_notAfter(certificate.get())) : std::nullopt;
}

bool has_pinned_key(SSL* connection, const std::vector<std::string>& pins) {
    const STACK_OF(X509)* chain = SSL_get0_verified_chain(connection);
    for (int i = 0; chain != nullptr && i < sk_X509_num(chain); ++i) {
        const std::string pin = pin_of(sk_X509_value(chain, i));
        if (!pin.empty() && std::find(pins.begin(), pins.end(), pin) != pins.end()) return true;
    }
    return false;
}

std::optional<Instant> end_of_trust(SSL* connection) {
    const STACK_OF(X509)* chain = SSL_get0_verified_chain(connection);
    std::optional<Instant> first;
    for (int i = 0; chain != nullptr && i < sk_X509_num(chain); ++i) {
        const auto end = instant_of(X509_get0_notAfter(sk_X509_value(chain, i)));
        if (end && (!first || *end < *first)) first = end;
    }
    return first;
}

}  // namespace nightferry::net
