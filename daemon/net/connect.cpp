#include "daemon/net/connect.hpp"

#include <algorithm>
#include <boost/asio/as_tuple.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/core/tcp_stream.hpp>
#include <boost/beast/http.hpp>
#include <deque>
#include <memory>

namespace nightferry::net {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace http = boost::beast::http;
using asio::ip::tcp;
using boost::system::error_code;

namespace {

constexpr auto as_result = asio::as_tuple(asio::use_awaitable);
constexpr std::chrono::milliseconds head_start{250};
constexpr std::uint32_t proxy_header_bytes = 16 * 1024;

std::string words_of(const error_code& why) {
    return why == beast::error::timeout || why == asio::error::operation_aborted ? "no answer in time"
                                                                                 : why.message();
}

std::string text_of(const tcp::endpoint& endpoint) {
    const std::string address = endpoint.address().to_string();
    return (endpoint.address().is_v6() ? "[" + address + "]" : address) + ":" +
           std::to_string(endpoint.port());
}

// Attempts beside each other. Handlers hold it, so it lives until the last one has come back.
class Race : public std::enable_shared_from_this<Race> {
 public:
    Race(asio::io_context& loop, std::vector<tcp::endpoint> endpoints)
        : loop_(loop), endpoints_(std::move(endpoints)), next_(loop), over_(loop) {}

    asio::awaitable<std::variant<error_code, tcp::socket>> run(std::chrono::steady_clock::duration limit) {
        over_.expires_after(limit);
        start_next();
        co_await over_.async_wait(as_result);
        is_over_ = true;
        next_.cancel();
        std::optional<tcp::socket> winner = std::move(winner_);
        for (tcp::socket& one : sockets_) {
            error_code ignored;
            one.close(ignored);
        }
        if (winner) co_return std::move(*winner);
        co_return under_way_ > 0 ? error_code(beast::error::timeout) : last_failure_;
    }

 private:
    void start_next() {
        if (is_over_ || started_ == endpoints_.size()) return;
        const tcp::endpoint& endpoint = endpoints_[started_++];
        tcp::socket& socket = sockets_.emplace_back(loop_);
        ++under_way_;
        socket.async_connect(endpoint, [self = shared_from_this(), &socket](error_code failure) {
            self->on_result(socket, failure);
        });
        next_.expires_after(head_start);
        next_.async_wait([self = shared_from_this()](error_code cancelled) {
            if (!cancelled) self->start_next();
        });
    }

    void on_result(tcp::socket& socket, error_code failure) {
        if (is_over_ || winner_) return;
        --under_way_;
        if (!failure) {
            winner_ = std::move(socket);
            over_.cancel();
            return;
        }
        last_failure_ = failure;
        next_.cancel();
        start_next();
        if (under_way_ == 0) over_.cancel();
    }

    asio::io_context& loop_;
    const std::vector<tcp::endpoint> endpoints_;
    std::size_t started_ = 0;
    std::size_t under_way_ = 0;
    std::deque<tcp::socket> sockets_;  // References to them stay good.
    std::optional<tcp::socket> winner_;
    error_code last_failure_ = asio::error::host_not_found;
    bool is_over_ = false;
    asio::steady_timer next_;
    asio::steady_timer over_;  // Rings at the limit; cancelled when there is a result.
};

NotConnected not_connected(std::string words) {
    return {std::move(words), false};
}

// Why a proxy that answered like this opened no way; nothing when it did.
std::optional<NotConnected> refusal_of(unsigned status, const Proxy& proxy, const std::string& authority) {
    if (status / 100 == 2) return std::nullopt;
    const std::string who = "the proxy " + proxy.host;
    if (status == 407) {
        const char* why =
            proxy.authorization.empty()
                ? " wants a user name and a password (HTTP 407); proxy_credentials in the settings "
                  "names the file with them"
                : " does not take the user name and password in proxy_credentials (HTTP 407)";
        return NotConnected{who + why, true};
    }
    std::string words = who + " opens no way to " + authority + ": HTTP " + std::to_string(status);
    if (status == 403) words += "; whoever runs it has to allow that, or proxy in the settings name another";
    return NotConnected{std::move(words), status == 403};
}

std::optional<NotConnected> broken(const Proxy& proxy, const std::string& how) {
    return NotConnected{"the proxy " + proxy.host + how, false};
}

// Nothing when the tunnel stands; otherwise why not. Built outside of it: GCC 12 destroys twice what a
// coroutine returns from within braces.
asio::awaitable<std::optional<NotConnected>> ask_for_tunnel(beast::tcp_stream& stream, const Proxy& proxy,
                                                            const std::string& authority) {
    http::request<http::empty_body> wish{http::verb::connect, authority, 11};
    wish.set(http::field::host, authority);
    if (!proxy.authorization.empty()) wish.set(http::field::proxy_authorization, proxy.authorization);
    auto [write_failure, written] = co_await http::async_write(stream, wish, as_result);
    if (write_failure) co_return broken(proxy, " broke the connection: " + words_of(write_failure));
    beast::flat_buffer buffer;
    http::response_parser<http::empty_body> parser;
    parser.header_limit(proxy_header_bytes);
    parser.skip(true);  // What follows is the tunnel.
    auto [read_failure, read] = co_await http::async_read_header(stream, buffer, parser, as_result);
    if (read_failure) co_return broken(proxy, " did not open a way: " + words_of(read_failure));
    auto refusal = refusal_of(parser.get().result_int(), proxy, authority);
    // Nobody may speak before us in the tunnel.
    if (!refusal && buffer.size() > 0) refusal = broken(proxy, " sent more than its answer");
    co_return refusal;
}

}  // namespace

std::vector<tcp::endpoint> in_turns(const std::vector<tcp::endpoint>& found) {
    std::vector<tcp::endpoint> turns = found;
    const auto is_first_family = [&](const tcp::endpoint& one) {
        return one.address().is_v6() == found.front().address().is_v6();
    };
    const auto others = std::stable_partition(turns.begin(), turns.end(), is_first_family);
    std::vector<tcp::endpoint> merged;
    auto first = turns.begin();
    auto second = others;
    while (first != others || second != turns.end()) {
        if (first != others) merged.push_back(*first++);
        if (second != turns.end()) merged.push_back(*second++);
    }
    return merged;
}

asio::awaitable<Connection> connect(asio::io_context& loop, const std::string& host, std::uint16_t port,
                                    std::chrono::seconds limit, Arrival& arrival) {
    const auto began = std::chrono::steady_clock::now();
    const auto resolver = std::make_shared<tcp::resolver>(loop);
    asio::steady_timer give_up(loop, limit);
    give_up.async_wait([resolver](error_code cancelled) {
        if (!cancelled) resolver->cancel();
    });
    auto [name_failure, found] = co_await resolver->async_resolve(host, std::to_string(port), as_result);
    give_up.cancel();
    if (name_failure)
        co_return Connection(
            not_connected("the name " + host + " cannot be resolved: " + words_of(name_failure)));
    std::vector<tcp::endpoint> endpoints;
    for (const auto& one : found)
        endpoints.push_back(one.endpoint());
    endpoints = in_turns(endpoints);
    arrival.stage = Arrival::Stage::named;
    for (const tcp::endpoint& one : endpoints)
        arrival.addresses.push_back(one.address().to_string());
    const auto race = std::make_shared<Race>(loop, endpoints);
    auto result = co_await race->run(limit - (std::chrono::steady_clock::now() - began));
    if (auto* failure = std::get_if<error_code>(&result))
        co_return Connection(not_connected("no connection to " + host + ": " + words_of(*failure)));
    tcp::socket& socket = std::get<tcp::socket>(result);
    error_code ignored;
    arrival.stage = Arrival::Stage::connected;
    arrival.peer = text_of(socket.remote_endpoint(ignored));
    socket.set_option(tcp::no_delay(true), ignored);
    co_return std::move(socket);
}

asio::awaitable<Connection> connect_through(asio::io_context& loop, const Proxy& proxy,
                                            const std::string& host, std::uint16_t port,
                                            std::chrono::seconds limit, Arrival& arrival) {
    Connection reached = co_await connect(loop, proxy.host, proxy.port, limit, arrival);
    if (auto* failed = std::get_if<NotConnected>(&reached)) {
        failed->words = "the proxy cannot be reached: " + failed->words;
        co_return reached;
    }
    const std::string name = host.find(':') == std::string::npos ? host : "[" + host + "]";
    beast::tcp_stream stream(std::move(std::get<tcp::socket>(reached)));
    stream.expires_after(limit);
    const auto failed = co_await ask_for_tunnel(stream, proxy, name + ":" + std::to_string(port));
    if (failed) co_return *failed;
    arrival.stage = Arrival::Stage::tunnelled;
    stream.expires_never();
    co_return stream.release_socket();
}

}  // namespace nightferry::net
