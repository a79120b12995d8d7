// A small HTTP/1.1 server: on a Unix-domain socket for this machine's programs, or on an address over TLS
// or in the plain. The handler answers at once, on the event loop's thread.
#pragma once

#include <chrono>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "daemon/core/http.hpp"
#include "daemon/core/result.hpp"
#include "daemon/net/tls_settings.hpp"

namespace boost::asio {
class io_context;
}

namespace nightferry::net {

struct ServerLimits {
    std::size_t connections = 64;
    std::size_t header_bytes = 16 * 1024;
    std::size_t body_bytes = 8 * 1024 * 1024;
    std::chrono::seconds idle{30};       // For one whole request, and between two.
    std::chrono::seconds handshake{10};  // Of TLS.
};

class HttpServer {
 public:
    using Handler = std::function<HttpAnswer(const HttpRequest&)>;

    // Replaces a socket file that no process listens on any more; Errc::locked when one does. The file may
    // be used by this user and group.
    static Result<std::unique_ptr<HttpServer>> open_local(boost::asio::io_context& loop,
                                                          const std::filesystem::path& socket,
                                                          Handler handler, ServerLimits limits = {});

    // On an IPv4 or IPv6 address, over TLS (tls_settings.hpp); port 0 takes a free one. Whoever does not get
    // through the handshake hears what TLS says of it and nothing else.
    static Result<std::unique_ptr<HttpServer>> open_tls(boost::asio::io_context& loop,
                                                        const std::string& address, std::uint16_t port,
                                                        const ServerIdentity& identity, Handler handler,
                                                        ServerLimits limits = {});

    // On an IPv4 or IPv6 address, without TLS: for what everybody who reaches it may know.
    static Result<std::unique_ptr<HttpServer>> open_plain(boost::asio::io_context& loop,
                                                          const std::string& address, std::uint16_t port,
                                                          Handler handler, ServerLimits limits = {});

    ~HttpServer();  // Stops listening and removes the socket file; requests being read are dropped.

    std::uint16_t port() const;

 private:
    class Listener;
    explicit HttpServer(std::shared_ptr<Listener> listener);
    std::shared_ptr<Listener> listener_;
};

}  // namespace nightferry::net
