#include "daemon/net/http_server.hpp"

#include <sys/stat.h>
#include <unistd.h>

#include <boost/asio/as_tuple.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/local/stream_protocol.hpp>
#include <boost/asio/ssl/context.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/beast/core/basic_stream.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/core/tcp_stream.hpp>
#include <boost/beast/http.hpp>
#include <boost/beast/ssl/ssl_stream.hpp>
#include <cerrno>

namespace nightferry::net {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace http = boost::beast::http;
using asio::ip::tcp;
using asio::local::stream_protocol;
using boost::system::error_code;

namespace {

constexpr auto as_result = asio::as_tuple(asio::use_awaitable);

using LocalStream = beast::basic_stream<stream_protocol>;
using TlsStream = beast::ssl_stream<beast::tcp_stream>;

http::response<http::string_body> to_beast(HttpAnswer answer,
                                           const http::request<http::string_body>& request) {
    http::response<http::string_body> message{static_cast<http::status>(answer.status), request.version()};
    for (const auto& [key, value] : answer.headers)
        message.set(key, value);
    message.keep_alive(request.keep_alive());
    message.body() = std::move(answer.body);
    message.prepare_payload();
    // RFC 9110 section 9.3.2: the headers of GET, its length among them, and no body.
    if (request.method() == http::verb::head) message.body().clear();
    return message;
}

HttpRequest from_beast(const http::request<http::string_body>& message) {
    HttpRequest request{
        std::string(message.method_string()), std::string(message.target()), {}, message.body()};
    for (const auto& field : message)
        request.headers.emplace_back(std::string(field.name_string()), std::string(field.value()));
    return request;
}

HttpAnswer plain_answer(int status, std::string words) {
    return {status, {{"Content-Type", "application/json"}}, "{\"error\":\"" + std::move(words) + "\"}\n"};
}

Error cannot_listen(const std::string& where, const error_code& why) {
    return {Errc::setup, "cannot listen on " + where + ": " + why.message()};
}

Error cannot_listen(const tcp::endpoint& at, const error_code& why) {
    Error error = cannot_listen(at.address().to_string() + ", port " + std::to_string(at.port()), why);
    if (why == asio::error::no_permission || why == asio::error::access_denied)
        error.detail += "; under systemd see SocketBindAllow= in the unit";
    return error;
}

Result<asio::ip::address> numbers_of(const std::string& address) {
    error_code failure;
    const auto numbers = asio::ip::make_address(address, failure);
    if (failure) return cannot_listen(address, failure);
    return numbers;
}

// Is a process behind this socket file?
bool is_alive(const std::filesystem::path& socket) {
    asio::io_context loop;
    stream_protocol::socket probe(loop);
    error_code failure;
    probe.connect(stream_protocol::endpoint(socket.string()), failure);
    return !failure;
}

}  // namespace

class HttpServer::Listener {
 public:
    Listener(asio::io_context& loop, Handler handler, ServerLimits limits)
        : loop_(loop), handler_(std::move(handler)), limits_(limits), local_(loop), tcp_(loop) {}

    Result<void> listen_local(const std::filesystem::path& socket) {
        struct stat status {};
        if (::lstat(socket.c_str(), &status) == 0) {
            if (!S_ISSOCK(status.st_mode))
                return Error{Errc::setup, socket.string() + " is there and no socket; move it away"};
            if (is_alive(socket))
                return Error{Errc::locked, "another nightferryd listens on " + socket.string()};
            ::unlink(socket.c_str());
        }
        error_code failure;
        local_.open(stream_protocol(), failure);
        // Narrow from the first moment, then opened to the group.
        const mode_t before = ::umask(0177);
        if (!failure) local_.bind(stream_protocol::endpoint(socket.string()), failure);
        ::umask(before);
        if (!failure) local_.listen(asio::socket_base::max_listen_connections, failure);
        if (failure) return cannot_listen(socket.string(), failure);
        socket_file_ = socket;
        if (::chmod(socket.c_str(), 0660) != 0)
            return cannot_listen(socket.string(), error_code(errno, boost::system::system_category()));
        return {};
    }

    Result<void> listen_tls(const asio::ip::address& address, std::uint16_t port,
                            const ServerIdentity& identity) {
        auto context = make_tls_context(identity);
        if (!context) return context.error();
        tls_.emplace(std::move(*context));
        return listen_tcp(address, port);
    }

    Result<void> listen_tcp(const asio::ip::address& address, std::uint16_t port) {
        error_code failure;
        const tcp::endpoint endpoint(address, port);
        tcp_.open(endpoint.protocol(), failure);
        if (!failure) tcp_.set_option(tcp::acceptor::reuse_address(true), failure);
        if (!failure) tcp_.bind(endpoint, failure);
        if (!failure) tcp_.listen(asio::socket_base::max_listen_connections, failure);
        if (failure) return cannot_listen(endpoint, failure);
        return {};
    }

    static asio::awaitable<void> accept_local(std::shared_ptr<Listener> self) {
        while (true) {
            auto [failure, socket] = co_await self->local_.async_accept(as_result);
            if (failure) {
                if (self->closed_) co_return;
                // Out of descriptors, most likely; they come back when sessions end.
                co_await self->breathe();
                continue;
            }
            if (self->connections_ >= self->limits_.connections) continue;
            start(self, local_session(self, LocalStream(std::move(socket))));
        }
    }

    static asio::awaitable<void> accept_tcp(std::shared_ptr<Listener> self) {
        while (true) {
            auto [failure, socket] = co_await self->tcp_.async_accept(as_result);
            if (failure) {
                if (self->closed_) co_return;
                // Out of descriptors, most likely; they come back when sessions end.
                co_await self->breathe();
                continue;
            }
            if (self->connections_ >= self->limits_.connections) continue;
            // Whoever hung up meanwhile must not end the listening.
            error_code ignored;
            socket.set_option(tcp::no_delay(true), ignored);
            beast::tcp_stream stream(std::move(socket));
            start(self,
                  self->tls_ ? tls_session(self, std::move(stream)) : plain_session(self, std::move(stream)));
        }
    }

    asio::awaitable<void> breathe() {
        asio::steady_timer pause(loop_, std::chrono::seconds(1));
        co_await pause.async_wait(as_result);
    }

    void close() {
        closed_ = true;
        error_code ignored;
        local_.close(ignored);
        tcp_.close(ignored);
        if (!socket_file_.empty()) ::unlink(socket_file_.c_str());
    }

    asio::io_context& loop() { return loop_; }
    std::uint16_t port() const {
        error_code ignored;
        return tcp_.local_endpoint(ignored).port();
    }

 private:
    static void start(const std::shared_ptr<Listener>& self, asio::awaitable<void> session) {
        ++self->connections_;
        auto ended = [self](std::exception_ptr failure) {
            --self->connections_;
            if (failure) std::rethrow_exception(failure);
        };
        asio::co_spawn(self->loop_, std::move(session), std::move(ended));
    }

    static asio::awaitable<void> local_session(std::shared_ptr<Listener> self, LocalStream stream) {
        co_await serve(*self, stream);
    }

    static asio::awaitable<void> plain_session(std::shared_ptr<Listener> self, beast::tcp_stream stream) {
        co_await serve(*self, stream);
    }

    static asio::awaitable<void> tls_session(std::shared_ptr<Listener> self, beast::tcp_stream tcp_stream) {
        TlsStream stream(std::move(tcp_stream), *self->tls_);
        beast::get_lowest_layer(stream).expires_after(self->limits_.handshake);
        auto [failure] = co_await stream.async_handshake(asio::ssl::stream_base::server, as_result);
        if (!failure) co_await serve(*self, stream);
    }

    template <class Stream>
    static asio::awaitable<void> serve(Listener& self, Stream& stream) {
        beast::flat_buffer buffer;
        bool keep = true;
        while (keep) {
            beast::get_lowest_layer(stream).expires_after(self.limits_.idle);
            http::request_parser<http::string_body> parser;
            parser.header_limit(static_cast<std::uint32_t>(self.limits_.header_bytes));
            parser.body_limit(self.limits_.body_bytes);
            auto [read_failure, read] = co_await http::async_read(stream, buffer, parser, as_result);
            if (read_failure == http::error::body_limit) {
                auto refusal = to_beast(
                    plain_answer(413, "the request is larger than this hub takes at once"), parser.get());
                refusal.keep_alive(false);
                co_await http::async_write(stream, refusal, as_result);
            }
            if (read_failure || self.closed_) co_return;
            const auto answer = to_beast(self.handler_(from_beast(parser.get())), parser.get());
            keep = answer.keep_alive();
            beast::get_lowest_layer(stream).expires_after(self.limits_.idle);
            auto [write_failure, written] = co_await http::async_write(stream, answer, as_result);
            if (write_failure) co_return;
        }
    }

    asio::io_context& loop_;
    const Handler handler_;
    const ServerLimits limits_;
    stream_protocol::acceptor local_;
    tcp::acceptor tcp_;
    std::optional<asio::ssl::context> tls_;
    std::filesystem::path socket_file_;
    std::size_t connections_ = 0;
    bool closed_ = false;
};

namespace {

// An accept loop that dies of an exception takes the process down: nobody could hand anything in any more.
void rethrow(std::exception_ptr failure) {
    if (failure) std::rethrow_exception(failure);
}

}  // namespace

Result<std::unique_ptr<HttpServer>> HttpServer::open_local(asio::io_context& loop,
                                                           const std::filesystem::path& socket,
                                                           Handler handler, ServerLimits limits) {
    auto listener = std::make_shared<Listener>(loop, std::move(handler), limits);
    const auto listening = listener->listen_local(socket);
    if (!listening) return listening.error();
    asio::co_spawn(loop, Listener::accept_local(listener), rethrow);
    return std::unique_ptr<HttpServer>(new HttpServer(std::move(listener)));
}

Result<std::unique_ptr<HttpServer>> HttpServer::open_tls(asio::io_context& loop, const std::string& address,
                                                         std::uint16_t port, const ServerIdentity& identity,
                                                         Handler handler, ServerLimits limits) {
    const auto numbers = numbers_of(address);
    if (!numbers) return numbers.error();
    auto listener = std::make_shared<Listener>(loop, std::move(handler), limits);
    const auto listening = listener->listen_tls(*numbers, port, identity);
    if (!listening) return listening.error();
    asio::co_spawn(loop, Listener::accept_tcp(listener), rethrow);
    return std::unique_ptr<HttpServer>(new HttpServer(std::move(listener)));
}

Result<std::unique_ptr<HttpServer>> HttpServer::open_plain(asio::io_context& loop, const std::string& address,
                                                           std::uint16_t port, Handler handler,
                                                           ServerLimits limits) {
    const auto numbers = numbers_of(address);
    if (!numbers) return numbers.error();
    auto listener = std::make_shared<Listener>(loop, std::move(handler), limits);
    const auto listening = listener->listen_tcp(*numbers, port);
    if (!listening) return listening.error();
    asio::co_spawn(loop, Listener::accept_tcp(listener), rethrow);
    return std::unique_ptr<HttpServer>(new HttpServer(std::move(listener)));
}

HttpServer::HttpServer(std::shared_ptr<Listener> listener) : listener_(std::move(listener)) {}

HttpServer::~HttpServer() {
    listener_->close();
}

std::uint16_t HttpServer::port() const {
    return listener_->port();
}

}  // namespace nightferry::net
