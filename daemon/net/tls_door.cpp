#include "daemon/net/tls_door.hpp"

#include <openssl/err.h>
#include <openssl/ssl.h>
#include <openssl/x509v3.h>

#include <algorithm>
#include <array>
#include <boost/asio/ip/address.hpp>

namespace nightferry::net {

namespace asio = boost::asio;
using boost::system::error_code;
using sync::NoAnswer;

namespace {

// The alert with which the other side ended the connection, if it did (RFC 8446 section 6). OpenSSL adds
// SSL_AD_REASON_OFFSET to the numbers of received alerts.
std::optional<int> alert_of(const error_code& failure) {
    if (failure.category() != asio::error::get_ssl_category()) return std::nullopt;
    const auto code = static_cast<unsigned long>(failure.value());
    if (ERR_GET_LIB(code) != ERR_LIB_SSL || ERR_GET_REASON(code) < SSL_AD_REASON_OFFSET) return std::nullopt;
    return ERR_GET_REASON(code) - SSL_AD_REASON_OFFSET;
}

bool is_ip_address(const std::string& host) {
    error_code not_an_address;
    asio::ip::make_address(host, not_an_address);
    return !not_an_address;
}

constexpr std::chrono::hours resumed_for{2};

// Where a context keeps its door. The place for an application's own data is taken: Asio keeps its callbacks
// there.
int place_of_door() {
    static const int place = SSL_CTX_get_ex_new_index(0, nullptr, nullptr, nullptr, nullptr);
    return place;
}

Instant wall_clock() {
    return std::chrono::floor<std::chrono::microseconds>(std::chrono::system_clock::now());
}

}  // namespace

Result<std::unique_ptr<TlsDoor>> TlsDoor::make(TlsSettings settings, std::string host) {
    auto context = make_tls_context(settings);
    if (!context) return context.error();
    return std::unique_ptr<TlsDoor>(new TlsDoor(std::move(settings), std::move(host), std::move(*context)));
}

TlsDoor::TlsDoor(TlsSettings settings, std::string host, asio::ssl::context context)
    : settings_(std::move(settings)),
      host_(std::move(host)),
      context_(std::move(context)),
      session_(nullptr, &SSL_SESSION_free) {
    SSL_CTX_set_session_cache_mode(context_.native_handle(),
                                   SSL_SESS_CACHE_CLIENT | SSL_SESS_CACHE_NO_INTERNAL);
    SSL_CTX_set_ex_data(context_.native_handle(), place_of_door(), this);
    SSL_CTX_sess_set_new_cb(context_.native_handle(), &TlsDoor::keep_session);
}

int TlsDoor::keep_session(SSL* connection, SSL_SESSION* session) {
    auto* door = static_cast<TlsDoor*>(SSL_CTX_get_ex_data(SSL_get_SSL_CTX(connection), place_of_door()));
    if (door == nullptr) return 0;
    door->session_.reset(session);
    return 1;
}

bool TlsDoor::prepare(TlsStream& stream) {
    SSL* handle = stream.native_handle();
    complaint_.clear();
    stream.set_verify_callback([this](bool is_good, asio::ssl::verify_context& verifying) {
        if (!is_good && complaint_.empty())
            complaint_ = words_for_failure(verifying.native_handle(), wall_clock());
        return is_good;
    });
    // Each resumption hands on a new ticket, and the certificates are not looked at again (RFC 8446
    // section 4.6.1).
    const Instant now = wall_clock();
    const bool is_recent = whole_handshake_ <= now && now - whole_handshake_ < resumed_for &&
                           (!trust_ends_ || now < *trust_ends_);
    if (!is_recent) session_.reset();
    if (session_) SSL_set_session(handle, session_.get());
    // OpenSSL checks the name itself, so that its verdict says what was wrong with it.
    if (is_ip_address(host_))
        return X509_VERIFY_PARAM_set1_ip_asc(SSL_get0_param(handle), host_.c_str()) == 1;
    SSL_set_hostflags(handle, X509_CHECK_FLAG_NO_PARTIAL_WILDCARDS);
    return SSL_set_tlsext_host_name(handle, host_.c_str()) == 1 && SSL_set1_host(handle, host_.c_str()) == 1;
}

std::optional<NoAnswer> TlsDoor::judge(TlsStream& stream, const error_code& failure) {
    SSL* handle = stream.native_handle();
    using Reached = NoAnswer::Reached;
    if (!complaint_.empty())
        return NoAnswer{Reached::untrusted, "the certificate of " + host_ + " is not trusted: " + complaint_};
    if (is_our_certificate_refused(failure)) {
        return NoAnswer{Reached::untrusted,
                        host_ +
                            (settings_.certificate.empty() ? " wants a certificate of this hub: "
                                                           : " does not take this hub's certificate: ") +
                            failure.message()};
    }
    // The other side speaks TLS and does not take us, so trying again soon is of no use. What breaks a
    // handshake otherwise, like a page of the way there that answers in plain HTTP, may be over a moment
    // later.
    if (alert_of(failure)) {
        return NoAnswer{Reached::untrusted,
                        "no trusted connection to " + host_ + " could be agreed: " + failure.message()};
    }
    if (failure) {
        const bool is_late = failure == boost::beast::error::timeout;
        return NoAnswer{Reached::no, "no TLS connection to " + host_ + ": " +
                                         (is_late ? "no answer in time" : failure.message())};
    }
    was_resumed_ = SSL_session_reused(handle) == 1;
    if (was_resumed_) return std::nullopt;
    if (!settings_.pins.empty() && !has_pinned_key(handle, settings_.pins)) {
        session_.reset();
        return NoAnswer{Reached::untrusted,
                        "no certificate of " + host_ +
                            " has one of the pinned keys; ask the clinic whether it changed them"};
    }
    trust_ends_ = end_of_trust(handle);
    whole_handshake_ = wall_clock();
    return std::nullopt;
}

void TlsDoor::part_well(TlsStream& stream) {
    SSL_set_shutdown(stream.native_handle(), SSL_SENT_SHUTDOWN | SSL_RECEIVED_SHUTDOWN);
}

bool TlsDoor::is_our_certificate_refused(const error_code& failure) {
    const auto alert = alert_of(failure);
    constexpr std::array alerts{SSL_AD_BAD_CERTIFICATE,     SSL_AD_UNSUPPORTED_CERTIFICATE,
                                SSL_AD_CERTIFICATE_REVOKED, SSL_AD_CERTIFICATE_EXPIRED,
                                SSL_AD_CERTIFICATE_UNKNOWN, SSL_AD_UNKNOWN_CA,
                                SSL_AD_ACCESS_DENIED,       SSL_AD_CERTIFICATE_REQUIRED};
    return alert && std::find(alerts.begin(), alerts.end(), *alert) != alerts.end();
}

}  // namespace nightferry::net
