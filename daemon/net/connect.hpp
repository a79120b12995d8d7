// A TCP connection to a name, by whichever of its addresses answers first, or through an HTTP proxy.
#pragma once

#include <boost/asio/awaitable.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <chrono>
#include <cstdint>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "daemon/net/arrival.hpp"

namespace boost::asio {
class io_context;
}

namespace nightferry::net {

struct Proxy {
    std::string host;
    std::uint16_t port = 3128;
    std::string authorization;  // Value of the Proxy-Authorization header; empty: none is sent.
};

struct NotConnected {
    std::string words;
    bool is_for_people = false;  // It will not go away by itself: the proxy wants to know who asks.
};
using Connection = std::variant<NotConnected, boost::asio::ip::tcp::socket>;

// In the order in which they are tried: the two families take turns, beginning with the first one's
// (RFC 8305 section 4).
std::vector<boost::asio::ip::tcp::endpoint> in_turns(
    const std::vector<boost::asio::ip::tcp::endpoint>& found);

// Resolves the name and connects: every 250 ms, or as soon as one fails, the next address is tried beside
// those that are still under way, and the first that answers is taken (RFC 8305 section 5). All within
// `limit`. How far it came is left in `arrival`.
boost::asio::awaitable<Connection> connect(boost::asio::io_context& loop, const std::string& host,
                                           std::uint16_t port, std::chrono::seconds limit, Arrival& arrival);

// The same to a proxy, which is then asked for a tunnel (CONNECT: RFC 9110 section 9.3.6).
boost::asio::awaitable<Connection> connect_through(boost::asio::io_context& loop, const Proxy& proxy,
                                                   const std::string& host, std::uint16_t port,
                                                   std::chrono::seconds limit, Arrival& arrival);

}  // namespace nightferry::net
