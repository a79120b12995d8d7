// One server over TLS, from connection to connection: who it has to be, what was wrong with it, the session
// that the next connection may resume (in memory only, for two hours after the certificates were looked at),
// and when they end.
#pragma once

#include <boost/beast/core/tcp_stream.hpp>
#include <boost/beast/ssl/ssl_stream.hpp>
#include <memory>
#include <optional>
#include <string>

#include "daemon/net/tls_settings.hpp"
#include "daemon/sync/ports.hpp"

namespace nightferry::net {

using TlsStream = boost::beast::ssl_stream<boost::beast::tcp_stream>;

class TlsDoor {
 public:
    // Errc::setup when the files in the settings do not serve.
    static Result<std::unique_ptr<TlsDoor>> make(TlsSettings settings, std::string host);

    boost::asio::ssl::context& context() { return context_; }

    // Before a handshake. False when the name cannot be checked, which must never count as checked.
    bool prepare(TlsStream& stream);
    // After it, whether it failed or not; nothing when the other side is who it has to be.
    std::optional<sync::NoAnswer> judge(TlsStream& stream, const boost::system::error_code& failure);
    // Before it is closed, so that its session can be resumed.
    static void part_well(TlsStream& stream);
    // Why the other side broke off, where it is that it does not take our certificate, or that we show none.
    // With TLS 1.3 it says so only when the first request was sent.
    std::optional<sync::NoAnswer> refusal_of_ours(TlsStream& stream,
                                                  const boost::system::error_code& failure) const;

    std::optional<Instant> trust_ends() const { return trust_ends_; }
    bool was_resumed() const { return was_resumed_; }

 private:
    TlsDoor(TlsSettings settings, std::string host, boost::asio::ssl::context context);
    static int keep_session(SSL* connection, SSL_SESSION* session);

    TlsSettings settings_;
    std::string host_;
    boost::asio::ssl::context context_;
    std::unique_ptr<SSL_SESSION, void (*)(SSL_SESSION*)> session_;
    std::string complaint_;  // Of the handshake under way, about the certificate.
    std::optional<Instant> trust_ends_;
    bool was_resumed_ = false;
    Instant whole_handshake_;  // When the certificates were last looked at.
};

}  // namespace nightferry::net
