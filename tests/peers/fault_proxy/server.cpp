#include "tests/peers/fault_proxy/server.hpp"

#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/this_coro.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/core/tcp_stream.hpp>
#include <boost/beast/http.hpp>
#include <boost/beast/ssl/ssl_stream.hpp>

namespace nightferry::test {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace http = boost::beast::http;
using asio::use_awaitable;
using asio::ip::tcp;

namespace {

constexpr std::uint64_t body_bytes_max = 256 * 1024 * 1024;

http::request<http::string_body> to_beast(HttpRequest&& request) {
    http::request<http::string_body> message{http::string_to_verb(request.method), request.target, 11};
    for (const auto& [key, value] : request.headers)
        message.insert(key, value);
    message.set(http::field::connection, "close");
    message.body() = std::move(request.body);
    message.prepare_payload();
    return message;
}

template <class Stream>
asio::awaitable<HttpAnswer> exchange(Stream& stream, HttpRequest request) {
    const auto message = to_beast(std::move(request));
    co_await http::async_write(stream, message, use_awaitable);
    beast::flat_buffer buffer;
    http::response_parser<http::string_body> parser;
    parser.body_limit(body_bytes_max);
    co_await http::async_read(stream, buffer, parser, use_awaitable);
    const auto& response = parser.get();
    HttpAnswer answer{static_cast<int>(response.result_int()), {}, response.body()};
    for (const auto& field : response)
        answer.headers.emplace_back(std::string(field.name_string()), std::string(field.value()));
    co_return answer;
}

}  // namespace

Server::Server(std::uint16_t port, const std::string& ca) : port_(port) {
    if (ca.empty()) return;
    tls_.emplace(asio::ssl::context::tls_client);
    tls_->set_verify_mode(asio::ssl::verify_peer);
    tls_->load_verify_file(ca);
}

asio::awaitable<std::optional<HttpAnswer>> Server::ask(HttpRequest request) {
    ++asked_;
    try {
        beast::tcp_stream connection(co_await asio::this_coro::executor);
        const tcp::endpoint endpoint(asio::ip::address_v4::loopback(), port_);
        co_await connection.async_connect(endpoint, use_awaitable);
        connection.socket().set_option(tcp::no_delay(true));
        if (!tls_) co_return co_await exchange(connection, std::move(request));
        beast::ssl_stream<beast::tcp_stream> secured(std::move(connection), *tls_);
        co_await secured.async_handshake(asio::ssl::stream_base::client, use_awaitable);
        co_return co_await exchange(secured, std::move(request));
    } catch (const boost::system::system_error&) {
        co_return std::nullopt;
    }
}

}  // namespace nightferry::test
