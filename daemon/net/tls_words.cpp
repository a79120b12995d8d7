#include "daemon/net/tls_words.hpp"

#include <openssl/err.h>
#include <openssl/ssl.h>
#include <openssl/x509v3.h>

#include <algorithm>
#include <array>
#include <boost/asio/error.hpp>
#include <boost/asio/ssl/error.hpp>
#include <boost/beast/core/error.hpp>

#include "daemon/net/tls_settings.hpp"

namespace nightferry::net {

namespace asio = boost::asio;
using boost::system::error_code;

namespace {

constexpr char versions[] =
    "it offers no version of TLS that is safe; the clinic's IT has to allow 1.2 or 1.3";

// Behind what OpenSSL says of a certificate: what to do about it.
const char* way_out(int verdict) {
    switch (verdict) {
        case X509_V_ERR_HOSTNAME_MISMATCH:
        case X509_V_ERR_IP_ADDRESS_MISMATCH:
            return "; it is for another name than that in the address; compare url in the settings with what "
                   "the clinic gave";
        case X509_V_ERR_DEPTH_ZERO_SELF_SIGNED_CERT:
        case X509_V_ERR_SELF_SIGNED_CERT_IN_CHAIN:
        case X509_V_ERR_UNABLE_TO_GET_ISSUER_CERT_LOCALLY:
        case X509_V_ERR_UNABLE_TO_VERIFY_LEAF_SIGNATURE:
            return "; no authority that this hub trusts for this clinic stands behind it; ask the clinic's "
                   "IT "
                   "for the file of its authority, for trust in the settings";
        case X509_V_ERR_EE_KEY_TOO_SMALL:
        case X509_V_ERR_CA_KEY_TOO_SMALL:
        case X509_V_ERR_CA_MD_TOO_WEAK:
            return "; the clinic's IT has to get a new certificate: RSA of 2048 bits or more or an elliptic "
                   "curve, and SHA-256 or better";
        default:
            return "";
    }
}

bool is_openssl_reason(const error_code& failure, int reason) {
    return failure.category() == asio::error::get_ssl_category() &&
           ERR_GET_LIB(static_cast<unsigned long>(failure.value())) == ERR_LIB_SSL &&
           ERR_GET_REASON(static_cast<unsigned long>(failure.value())) == reason;
}

}  // namespace

std::string words_for_certificate(X509_STORE_CTX* verifying, Instant now) {
    const int verdict = X509_STORE_CTX_get_error(verifying);
    const std::string words = X509_verify_cert_error_string(verdict);
    const bool is_over = verdict == X509_V_ERR_CERT_HAS_EXPIRED;
    X509* certificate = X509_STORE_CTX_get_current_cert(verifying);
    if (certificate == nullptr || (!is_over && verdict != X509_V_ERR_CERT_NOT_YET_VALID))
        return words + way_out(verdict);
    const auto edge =
        instant_of(is_over ? X509_get0_notAfter(certificate) : X509_get0_notBefore(certificate));
    if (!edge) return words;
    const char* whose =
        X509_STORE_CTX_get_error_depth(verifying) > 0 ? "; that of its CA is valid " : "; it is valid ";
    return words + whose + (is_over ? "until " : "from ") + to_text(*edge) + ", and this hub's clock says " +
           to_text(now);
}

// OpenSSL adds SSL_AD_REASON_OFFSET to the numbers of received alerts.
std::optional<int> alert_of(const error_code& failure) {
    if (failure.category() != asio::error::get_ssl_category()) return std::nullopt;
    const auto code = static_cast<unsigned long>(failure.value());
    if (ERR_GET_LIB(code) != ERR_LIB_SSL || ERR_GET_REASON(code) < SSL_AD_REASON_OFFSET) return std::nullopt;
    return ERR_GET_REASON(code) - SSL_AD_REASON_OFFSET;
}

bool is_about_our_certificate(int alert) {
    constexpr std::array alerts{SSL_AD_BAD_CERTIFICATE,     SSL_AD_UNSUPPORTED_CERTIFICATE,
                                SSL_AD_CERTIFICATE_REVOKED, SSL_AD_CERTIFICATE_EXPIRED,
                                SSL_AD_CERTIFICATE_UNKNOWN, SSL_AD_UNKNOWN_CA,
                                SSL_AD_ACCESS_DENIED,       SSL_AD_CERTIFICATE_REQUIRED};
    return std::find(alerts.begin(), alerts.end(), alert) != alerts.end();
}

std::string words_for_alert(int alert) {
    switch (alert) {
        case SSL_AD_PROTOCOL_VERSION:
            return versions;
        case SSL_AD_HANDSHAKE_FAILURE:
        case SSL_AD_INSUFFICIENT_SECURITY:
            return "it takes no cipher that is safe; the clinic's IT has to allow those with forward secrecy "
                   "(ECDHE or DHE)";
        case SSL_AD_UNKNOWN_CA:
            return "it does not know the authority behind it; the clinic's IT has to trust that";
        case SSL_AD_CERTIFICATE_EXPIRED:
            return "it has expired; get a new one";
        case SSL_AD_CERTIFICATE_REVOKED:
            return "it was revoked; ask the clinic's IT";
        case SSL_AD_BAD_CERTIFICATE:
        case SSL_AD_UNSUPPORTED_CERTIFICATE:
        case SSL_AD_CERTIFICATE_UNKNOWN:
        case SSL_AD_ACCESS_DENIED:
            return std::string("it says '") + SSL_alert_desc_string_long(alert) + "'; ask the clinic's IT";
        default:
            return std::string("it says '") + SSL_alert_desc_string_long(alert) + "'";
    }
}

std::string words_for_handshake(const error_code& failure) {
    if (failure == boost::beast::error::timeout) return "no answer in time";
    if (failure == asio::ssl::error::stream_truncated || failure == asio::error::eof ||
        failure == asio::error::connection_reset || failure == asio::error::broken_pipe)
        return "it broke off before it had said who it is";
    if (is_openssl_reason(failure, SSL_R_UNSUPPORTED_PROTOCOL)) return versions;
    if (is_openssl_reason(failure, SSL_R_WRONG_VERSION_NUMBER))
        return "what answers there speaks without TLS; compare the port in url of the settings, and see "
               "whether "
               "something on the way wants a person to sign in";
    return failure.message();
}

}  // namespace nightferry::net
