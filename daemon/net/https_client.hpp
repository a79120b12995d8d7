// One server over HTTPS/1.1, or plain HTTP to this machine itself: a clinic's endpoint or its token server.
//
// The connection is kept between the requests of a pass and closed by rest(). After any failure it is closed
// too, so that a late answer can never be taken for the answer to another request. Redirects are not
// followed; the server's certificate and name are always checked, before the first byte of a request leaves.
#pragma once

#include <chrono>
#include <memory>
#include <optional>

#include "daemon/core/result.hpp"
#include "daemon/core/time.hpp"
#include "daemon/core/web_address.hpp"
#include "daemon/net/connect.hpp"
#include "daemon/net/tls_settings.hpp"
#include "daemon/sync/ports.hpp"

namespace nightferry::net {

struct Route {
    WebAddress address;  // Its path is put before the target of each request.
    TlsSettings tls;
    std::optional<Proxy> proxy;
};

struct ClientLimits {
    std::chrono::seconds connect{10};
    std::chrono::seconds handshake{10};
    std::chrono::seconds exchange{90};  // From the first byte sent to the last received.
    std::size_t header_bytes = 64 * 1024;
    std::size_t body_bytes = 16 * 1024 * 1024;  // Unpacked, too.
};

class HttpsClient final : public sync::ClinicPort {
 public:
    // Errc::setup when the files in the TLS settings cannot be used.
    static Result<std::unique_ptr<HttpsClient>> make(boost::asio::io_context& loop, Route route,
                                                     ClientLimits limits = {});
    ~HttpsClient() override;

    void send(HttpRequest request, std::function<void(sync::Reply)> done) override;
    void rest() override;

    // When the first of the certificates ends by which the server was trusted; nothing before it was, and
    // without TLS.
    std::optional<Instant> trust_ends() const;
    // How far the newest connection came.
    const Arrival& arrival() const;
    // Whether the newest connection took up an earlier one's session.
    bool was_resumed() const;

 private:
    class Line;
    explicit HttpsClient(std::shared_ptr<Line> line);
    std::shared_ptr<Line> line_;
};

}  // namespace nightferry::net
