// One connection from the client under test: its requests, one after the other, each with what the plan has
// in store for it.
#pragma once

#include <boost/asio/awaitable.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/ssl/context.hpp>
#include <chrono>
#include <cstdint>
#include <string>

#include "tests/peers/fault_proxy/plan.hpp"
#include "tests/peers/fault_proxy/server.hpp"

namespace nightferry::test {

// What all sessions share. Everything runs on one thread.
struct Proxy {
    Plan& plan;
    Server& server;
    boost::asio::ssl::context& tls;
    std::chrono::milliseconds silence;  // How long a silence lasts before the connection is closed.
    std::chrono::milliseconds
        latest;  // No request reaches the server later than this after the client sent it.
    std::uint64_t connections = 0;
    std::uint64_t requests = 0;
    std::uint64_t abandoned = 0;    // Requests whose client went away before their answer was ready.
    std::uint64_t outstanding = 0;  // Requests that will still be sent to the server, by nobody's wish.
    std::string earlier_answer{};   // As it stood on the wire.
};

boost::asio::awaitable<void> serve(Proxy& proxy, boost::asio::ip::tcp::socket socket);

}  // namespace nightferry::test
