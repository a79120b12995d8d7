#include "daemon/net/tls_door.hpp"

#include <openssl/ssl.h>
#include <openssl/x509v3.h>

#include <boost/asio/ip/address.hpp>

#include "daemon/net/tls_words.hpp"

namespace nightferry::net {

namespace asio = boost::asio;
using boost::system::error_code;
using sync::NoAnswer;

namespace {

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
            complaint_ = words_for_certificate(verifying.native_handle(), wall_clock());
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
    if (auto refusal = refusal_of_ours(stream, failure)) return refusal;
    // The other side speaks TLS and does not take us, so trying again soon is of no use. What breaks a
    // handshake otherwise, like a page of the way there that answers in plain HTTP, may be over a moment
    // later.
    if (const auto alert = alert_of(failure)) {
        return NoAnswer{Reached::untrusted,
                        "no trusted connection to " + host_ + " could be agreed: " + words_for_alert(*alert)};
    }
    if (failure)
        return NoAnswer{Reached::no, "no TLS connection to " + host_ + ": " + words_for_handshake(failure)};
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

std::optional<NoAnswer> TlsDoor::refusal_of_ours(TlsStream& stream, const error_code& failure) const {
    const auto alert = alert_of(failure);
    if (!alert) return std::nullopt;
    const bool shows_none = settings_.certificate.empty();
    // Before TLS 1.3 a server that misses one says no more than that the handshake failed.
    const bool misses_it = shows_none && *alert == SSL_AD_HANDSHAKE_FAILURE &&
                           SSL_get0_certificate_types(stream.native_handle(), nullptr) > 0;
    if (!is_about_our_certificate(*alert) && !misses_it) return std::nullopt;
    return NoAnswer{NoAnswer::Reached::untrusted,
                    shows_none
                        ? host_ +
                              " wants a certificate of this hub: ask the clinic's IT for one, and name it as "
                              "certificate in the settings"
                        : host_ + " does not take this hub's certificate: " + words_for_alert(*alert)};
}

}  // namespace nightferry::net
