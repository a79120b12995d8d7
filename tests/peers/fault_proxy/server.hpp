// The server that stands behind the proxy, asked over a connection of its own for each request.
#pragma once

#include <boost/asio/awaitable.hpp>
#include <boost/asio/ssl/context.hpp>
#include <cstdint>
#include <optional>
#include <string>

#include "daemon/core/http.hpp"

namespace nightferry::test {

class Server {
 public:
    // With a CA file it is asked over TLS, and its certificate is checked against that authority.
    Server(std::uint16_t port, const std::string& ca);

    // Nothing when it closes the connection without an answer, or cannot be reached.
    boost::asio::awaitable<std::optional<HttpAnswer>> ask(HttpRequest request);

    std::uint64_t asked() const { return asked_; }

 private:
    const std::uint16_t port_;
    std::optional<boost::asio::ssl::context> tls_;
    std::uint64_t asked_ = 0;
};

}  // namespace nightferry::test
