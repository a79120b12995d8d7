#include "tests/peers/fault_proxy/session.hpp"

#include <netinet/tcp.h>
#include <sys/socket.h>

#include <algorithm>
#include <boost/asio/buffer.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/detached.hpp>
#include <boost/asio/read.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/this_coro.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/asio/write.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/core/tcp_stream.hpp>
#include <boost/beast/http.hpp>
#include <boost/beast/ssl/ssl_stream.hpp>

#include "tests/peers/fault_proxy/wire.hpp"

namespace nightferry::test {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace http = boost::beast::http;
using asio::use_awaitable;
using asio::ip::tcp;
using std::chrono::milliseconds;

namespace {

constexpr std::uint64_t body_bytes_max = 256 * 1024 * 1024;

asio::awaitable<void> pause(milliseconds span) {
    asio::steady_timer timer(co_await asio::this_coro::executor, span);
    co_await timer.async_wait(use_awaitable);
}

void reset(tcp::socket& socket) {
    socket.set_option(asio::socket_base::linger(true, 0));
    socket.close();
}

// Sends the request once more, or for the first time, when its client has long stopped waiting for it.
asio::awaitable<void> ask_later(Proxy& proxy, HttpRequest request, milliseconds wait) {
    co_await pause(wait);
    co_await proxy.server.ask(std::move(request));
    --proxy.outstanding;
}

class Session {
 public:
    Session(Proxy& proxy, tcp::socket socket) : proxy_(proxy), stream_(std::move(socket), proxy.tls) {}

    asio::awaitable<void> run() {
        ++proxy_.connections;
        socket().set_option(tcp::no_delay(true));
        // GCC 12 goes wrong where a condition awaits something that is there at once.
        bool open = co_await begin(proxy_.plan.for_connection());
        while (open)
            open = co_await serve_request();
    }

 private:
    tcp::socket& socket() { return beast::get_lowest_layer(stream_).socket(); }

    // False when the connection ended before its first request.
    asio::awaitable<bool> begin(Draw draw) {
        switch (draw.fault) {
            case Fault::connection_reset:
                reset(socket());
                co_return false;
            case Fault::handshake_cut:
                co_return false;
            case Fault::handshake_garbage:
                co_await asio::async_write(socket(), asio::buffer(to_wire(gateway_answer(502, draw.detail))),
                                           use_awaitable);
                co_return false;
            case Fault::handshake_no_reply:
                co_await pause(proxy_.silence);
                co_return false;
            default:
                co_await stream_.async_handshake(asio::ssl::stream_base::server, use_awaitable);
                co_return true;
        }
    }

    // False when the connection is over.
    asio::awaitable<bool> serve_request() {
        http::request_parser<http::string_body> parser;
        parser.body_limit(body_bytes_max);
        co_await http::async_read_header(stream_, buffer_, parser, use_awaitable);
        ++proxy_.requests;
        const Draw draw = proxy_.plan.for_request();
        if (draw.fault == Fault::cut_in_request) {
            co_await read_a_part(parser.content_length().value_or(0), draw.detail);
            co_return false;
        }
        co_await http::async_read(stream_, buffer_, parser, use_awaitable);
        const auto message = parser.release();
        HttpRequest request{
            std::string(message.method_string()), std::string(message.target()), {}, message.body()};
        for (const auto& field : message)
            request.headers.emplace_back(std::string(field.name_string()), std::string(field.value()));
        co_return co_await meet(draw, std::move(request));
    }

    asio::awaitable<void> read_a_part(std::uint64_t length, std::uint32_t detail) {
        const std::uint64_t wanted = length == 0 ? 0 : detail % length;
        if (wanted <= buffer_.size()) co_return;
        std::string part(wanted - buffer_.size(), '\0');
        co_await asio::async_read(stream_, asio::buffer(part), use_awaitable);
    }

    asio::awaitable<bool> meet(Draw draw, HttpRequest request) {
        switch (draw.fault) {
            case Fault::cut_before:
                co_return false;
            case Fault::reset_before:
                reset(socket());
                co_return false;
            case Fault::half_closed:
                socket().shutdown(tcp::socket::shutdown_send);
                co_await pause(proxy_.silence);
                co_return false;
            case Fault::silence:
                co_await pause(proxy_.silence);
                co_return false;
            case Fault::late:
                send_later(std::move(request), draw.detail);
                co_return false;
            default:
                break;
        }
        if (const auto own = own_answer(draw, false)) co_return co_await write(to_wire(*own));
        const HttpRequest copy = request;
        std::optional<HttpAnswer> answer = co_await proxy_.server.ask(std::move(request));
        if (answer && draw.fault == Fault::duplicate) {
            auto second = co_await proxy_.server.ask(copy);
            if (second && draw.detail % 2 == 0) answer = std::move(second);
        }
        if (draw.fault == Fault::duplicate_later) send_later(copy, draw.detail);
        if (!answer) co_return false;
        if (is_client_gone()) ++proxy_.abandoned;
        co_return co_await pass_on(draw, *answer);
    }

    void send_later(HttpRequest request, std::uint32_t detail) {
        ++proxy_.outstanding;
        const milliseconds wait{1 + detail % static_cast<std::uint32_t>(proxy_.latest.count())};
        asio::co_spawn(stream_.get_executor(), ask_later(proxy_, std::move(request), wait), asio::detached);
    }

    // A client that was killed while it was owed an answer has closed its side.
    bool is_client_gone() {
        char byte = 0;
        const auto count = ::recv(socket().native_handle(), &byte, 1, MSG_PEEK | MSG_DONTWAIT);
        return count == 0 || (count < 0 && errno != EAGAIN && errno != EWOULDBLOCK);
    }

    asio::awaitable<bool> pass_on(Draw draw, const HttpAnswer& answer) {
        if (const auto own = own_answer(draw, true)) co_return co_await write(to_wire(*own));
        const std::string wire = to_wire(answer);
        const std::string stale = std::exchange(proxy_.earlier_answer, wire);
        switch (draw.fault) {
            case Fault::cut_after:
                co_return false;
            case Fault::reset_after:
                reset(socket());
                co_return false;
            case Fault::half_closed_after:
                socket().shutdown(tcp::socket::shutdown_send);
                co_await pause(proxy_.silence);
                co_return false;
            case Fault::truncated_sized:
                co_await write(cut_short(answer, Length::promised, draw.detail));
                co_return false;
            case Fault::truncated_chunked:
                co_await write(cut_short(answer, Length::chunked, draw.detail));
                co_return false;
            case Fault::truncated_unsized:
                co_await write(cut_short(answer, Length::none, draw.detail));
                beast::get_lowest_layer(stream_).expires_after(std::chrono::seconds{1});
                co_await stream_.async_shutdown(use_awaitable);
                co_return false;
            case Fault::delay:
                co_await pause(milliseconds{draw.detail % 300});
                break;
            case Fault::drip:
                co_return co_await drip(wire);
            case Fault::stale_answer:
                co_return co_await write_both(wire, stale);
            default:
                break;
        }
        co_return co_await write(wire);
    }

    asio::awaitable<bool> write(const std::string& bytes) {
        co_await asio::async_write(stream_, asio::buffer(bytes), use_awaitable);
        co_return true;
    }

    // The header byte by byte, the rest in pieces that keep the whole below a second.
    asio::awaitable<bool> drip(const std::string& bytes) {
        const std::size_t piece = std::max<std::size_t>(1, bytes.size() / 100);
        for (std::size_t at = 0; at < bytes.size();) {
            const std::size_t count = std::min(at < 100 ? 1 : piece, bytes.size() - at);
            co_await asio::async_write(stream_, asio::buffer(bytes.data() + at, count), use_awaitable);
            at += count;
            co_await pause(milliseconds{1});
        }
        co_return true;
    }

    // Both arrive together, so that the client has the second one in hand before it asks anything else, and
    // can know that it answers nothing (RFC 9112 section 9.2).
    asio::awaitable<bool> write_both(const std::string& right, const std::string& stale) {
        const int handle = socket().native_handle();
        int corked = 1;
        ::setsockopt(handle, IPPROTO_TCP, TCP_CORK, &corked, sizeof corked);
        co_await write(right);
        co_await write(stale);
        corked = 0;
        ::setsockopt(handle, IPPROTO_TCP, TCP_CORK, &corked, sizeof corked);
        co_return true;
    }

    Proxy& proxy_;
    beast::ssl_stream<beast::tcp_stream> stream_;
    beast::flat_buffer buffer_;
};

}  // namespace

asio::awaitable<void> serve(Proxy& proxy, tcp::socket socket) {
    Session session(proxy, std::move(socket));
    try {
        co_await session.run();
    } catch (const boost::system::system_error&) {
        // The client went away, as it may at any moment.
    }
}

}  // namespace nightferry::test
