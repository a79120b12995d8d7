// A TCP server on loopback that answers as its script says, whatever was asked.
#pragma once

#include <boost/asio/as_tuple.hpp>
#include <boost/asio/buffer.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/asio/write.hpp>
#include <exception>
#include <string>
#include <vector>

namespace nightferry::test {

// What is written on one connection: each text once something was read. Then the connection is closed.
using ConnectionScript = std::vector<std::string>;

class ScriptedServer {
 public:
    using tcp = boost::asio::ip::tcp;

    // Connections beyond the script stay unanswered.
    ScriptedServer(boost::asio::io_context& loop, std::vector<ConnectionScript> script)
        : acceptor_(loop, tcp::endpoint(boost::asio::ip::address_v4::loopback(), 0)),
          script_(std::move(script)) {
        auto ended = [](std::exception_ptr failure) {
            if (failure) std::rethrow_exception(failure);
        };
        boost::asio::co_spawn(loop, serve(), ended);
    }

    std::uint16_t port() const { return acceptor_.local_endpoint().port(); }

    std::vector<std::string> requests;  // What was read, in order.
    std::size_t connections = 0;

 private:
    boost::asio::awaitable<void> serve() {
        constexpr auto as_result = boost::asio::as_tuple(boost::asio::use_awaitable);
        for (const ConnectionScript& answers : script_) {
            auto [refused, socket] = co_await acceptor_.async_accept(as_result);
            if (refused) co_return;
            ++connections;
            for (const std::string& answer : answers) {
                std::string read(64 * 1024, '\0');
                auto [unread, count] = co_await socket.async_read_some(boost::asio::buffer(read), as_result);
                if (unread) break;
                requests.push_back(read.substr(0, count));
                auto [unwritten, written] =
                    co_await boost::asio::async_write(socket, boost::asio::buffer(answer), as_result);
                if (unwritten) break;
            }
        }
    }

    tcp::acceptor acceptor_;
    const std::vector<ConnectionScript> script_;
};

}  // namespace nightferry::test
