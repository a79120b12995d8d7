#include "daemon/net/https_client.hpp"

#include <boost/asio/as_tuple.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/ssl/context.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/core/tcp_stream.hpp>
#include <boost/beast/http.hpp>
#include <boost/beast/ssl/ssl_stream.hpp>
#include <variant>

namespace nightferry::net {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace http = boost::beast::http;
using asio::ip::tcp;
using boost::system::error_code;
using sync::NoAnswer;
using sync::Reply;

namespace {

constexpr auto as_result = asio::as_tuple(asio::use_awaitable);

using PlainStream = beast::tcp_stream;
using TlsStream = beast::ssl_stream<beast::tcp_stream>;

NoAnswer unreachable(const std::string& what, const error_code& why) {
    return {NoAnswer::Reached::no,
            what + ": " + (why == beast::error::timeout ? "no answer in time" : why.message())};
}

// An alert by which the other side ended the handshake: it speaks TLS and does not take us, so trying again
// soon is of no use. What breaks a handshake otherwise, like a page of the way there that answers in plain
// HTTP, may be over a moment later. OpenSSL adds SSL_AD_REASON_OFFSET to the numbers of received alerts.
bool is_refusal(const error_code& failure) {
    if (failure.category() != asio::error::get_ssl_category()) return false;
    const auto code = static_cast<unsigned long>(failure.value());
    return ERR_GET_LIB(code) == ERR_LIB_SSL && ERR_GET_REASON(code) >= SSL_AD_REASON_OFFSET;
}

bool is_ip_address(const std::string& host) {
    error_code not_an_address;
    asio::ip::make_address(host, not_an_address);
    return !not_an_address;
}

http::request<http::string_body> to_beast(const HttpRequest& request, const ClinicAddress& address) {
    http::request<http::string_body> message{http::string_to_verb(request.method),
                                             address.base_path + request.target, 11};
    if (message.target().empty()) message.target("/");
    const bool usual_port = address.port == (address.tls ? 443 : 80);
    const std::string name =
        address.host.find(':') == std::string::npos ? address.host : "[" + address.host + "]";
    message.set(http::field::host, usual_port ? name : name + ":" + std::to_string(address.port));
    message.set(http::field::user_agent, "nightferry");
    for (const auto& [key, value] : request.headers)
        message.set(key, value);
    message.body() = request.body;
    message.prepare_payload();
    return message;
}

HttpAnswer from_beast(http::response<http::string_body>&& message) {
    HttpAnswer answer;
    answer.status = static_cast<int>(message.result_int());
    for (const auto& field : message)
        answer.headers.emplace_back(std::string(field.name_string()), std::string(field.value()));
    answer.body = std::move(message.body());
    return answer;
}

}  // namespace

class HttpsClient::Line {
 public:
    Line(asio::io_context& loop, ClinicAddress address, ClientLimits limits)
        : loop_(loop), address_(std::move(address)), limits_(limits), tls_(asio::ssl::context::tls_client) {}

    Result<void> prepare_tls() {
        if (!address_.tls) return {};
        error_code failure;
        tls_.set_options(asio::ssl::context::default_workarounds | asio::ssl::context::no_tlsv1 |
                         asio::ssl::context::no_tlsv1_1 | asio::ssl::context::no_compression);
        tls_.set_verify_mode(asio::ssl::verify_peer);
        if (address_.trust) {
            tls_.load_verify_file(address_.trust->string(), failure);
            if (failure)
                return Error{Errc::setup, "the CA file " + address_.trust->string() +
                                              " cannot be used: " + failure.message()};
        } else {
            tls_.set_default_verify_paths(failure);
            if (failure)
                return Error{Errc::setup,
                             "the system's CA certificates cannot be used: " + failure.message()};
        }
        return {};
    }

    asio::awaitable<Reply> exchange(HttpRequest request) {
        // They would pass for the answer to this request (RFC 9112 section 9.2).
        if (has_unasked_bytes()) close();
        if (std::holds_alternative<std::monostate>(stream_)) {
            if (auto failed = co_await connect()) {
                close();
                co_return *failed;
            }
        }
        // A coroutine cannot co_await inside std::visit.
        Reply reply;
        if (auto* plain = std::get_if<PlainStream>(&stream_)) {
            reply = co_await talk(*plain, request);
        } else {
            reply = co_await talk(std::get<TlsStream>(stream_), request);
        }
        if (std::holds_alternative<NoAnswer>(reply)) close();
        co_return reply;
    }

    void close() { stream_.emplace<std::monostate>(); }
    asio::io_context& loop() { return loop_; }

 private:
    asio::awaitable<std::optional<NoAnswer>> connect() {
        const auto resolver = std::make_shared<tcp::resolver>(loop_);
        asio::steady_timer give_up(loop_, limits_.connect);
        give_up.async_wait([resolver](error_code cancelled) {
            if (!cancelled) resolver->cancel();
        });
        auto [name_failure, addresses] =
            co_await resolver->async_resolve(address_.host, std::to_string(address_.port), as_result);
        give_up.cancel();
        if (name_failure)
            co_return unreachable("the name " + address_.host + " cannot be resolved", name_failure);
        PlainStream tcp_stream(loop_);
        tcp_stream.expires_after(limits_.connect);
        auto [connect_failure, endpoint] = co_await tcp_stream.async_connect(addresses, as_result);
        if (connect_failure) co_return unreachable("no connection to " + address_.host, connect_failure);
        tcp_stream.socket().set_option(tcp::no_delay(true));
        if (!address_.tls) {
            stream_.emplace<PlainStream>(std::move(tcp_stream));
            co_return std::nullopt;
        }
        co_return co_await shake_hands(std::move(tcp_stream));
    }

    asio::awaitable<std::optional<NoAnswer>> shake_hands(PlainStream tcp_stream) {
        TlsStream& tls = stream_.emplace<TlsStream>(std::move(tcp_stream), tls_);
        if (!expect_name(tls.native_handle())) {
            co_return NoAnswer{NoAnswer::Reached::untrusted,
                               "the name " + address_.host + " cannot be checked in a certificate"};
        }
        beast::get_lowest_layer(tls).expires_after(limits_.handshake);
        auto [failure] = co_await tls.async_handshake(asio::ssl::stream_base::client, as_result);
        if (!failure) co_return std::nullopt;
        const long verdict = SSL_get_verify_result(tls.native_handle());
        if (verdict != X509_V_OK) {
            co_return NoAnswer{NoAnswer::Reached::untrusted,
                               "the certificate of " + address_.host +
                                   " is not trusted: " + X509_verify_cert_error_string(verdict)};
        }
        if (is_refusal(failure)) {
            co_return NoAnswer{NoAnswer::Reached::untrusted, "no trusted connection to " + address_.host +
                                                                 " could be agreed: " + failure.message()};
        }
        co_return unreachable("no TLS connection to " + address_.host, failure);
    }

    // OpenSSL checks the name itself, so that its verdict says what was wrong with it. False when the name
    // cannot be checked, which must never count as checked.
    bool expect_name(SSL* handle) const {
        if (is_ip_address(address_.host)) {
            return X509_VERIFY_PARAM_set1_ip_asc(SSL_get0_param(handle), address_.host.c_str()) == 1;
        }
        SSL_set_hostflags(handle, X509_CHECK_FLAG_NO_PARTIAL_WILDCARDS);
        return SSL_set_tlsext_host_name(handle, address_.host.c_str()) == 1 &&
               SSL_set1_host(handle, address_.host.c_str()) == 1;
    }

    template <class Stream>
    asio::awaitable<Reply> talk(Stream& stream, const HttpRequest& request) {
        auto& deadline = beast::get_lowest_layer(stream);
        deadline.expires_after(limits_.exchange);
        const auto message = to_beast(request, address_);
        auto [write_failure, written] = co_await http::async_write(stream, message, as_result);
        if (write_failure) co_return perhaps(write_failure);
        beast::flat_buffer buffer;
        http::response_parser<http::string_body> parser;
        parser.header_limit(static_cast<std::uint32_t>(limits_.header_bytes));
        parser.body_limit(limits_.body_bytes);
        auto [read_failure, read] = co_await http::async_read(stream, buffer, parser, as_result);
        if (read_failure) co_return perhaps(read_failure);
        const bool keep = parser.get().keep_alive() && buffer.size() == 0;
        Reply reply = from_beast(parser.release());
        deadline.expires_never();
        if (!keep) close();
        co_return reply;
    }

    // Bytes that came while the connection rested. TLS reads ahead, so some may lie inside it.
    bool has_unasked_bytes() {
        error_code gone;
        if (auto* plain = std::get_if<PlainStream>(&stream_)) return plain->socket().available(gone) > 0;
        auto* tls = std::get_if<TlsStream>(&stream_);
        if (tls == nullptr) return false;
        const SSL* handle = tls->native_handle();
        return SSL_pending(handle) > 0 || BIO_pending(SSL_get_rbio(handle)) > 0 ||
               beast::get_lowest_layer(*tls).socket().available(gone) > 0;
    }

    NoAnswer perhaps(const error_code& why) const {
        std::string words =
            "the connection to " + address_.host + " broke before an answer came: " + why.message();
        if (why == beast::error::timeout) words = address_.host + " did not answer in time";
        if (why == http::error::body_limit || why == http::error::header_limit) {
            words = "the answer of " + address_.host + " is larger than we take";
        }
        return {NoAnswer::Reached::perhaps, std::move(words)};
    }

    asio::io_context& loop_;
    const ClinicAddress address_;
    const ClientLimits limits_;
    asio::ssl::context tls_;
    std::variant<std::monostate, PlainStream, TlsStream> stream_;
};

Result<std::unique_ptr<HttpsClient>> HttpsClient::make(asio::io_context& loop, ClinicAddress address,
                                                       ClientLimits limits) {
    auto line = std::make_shared<Line>(loop, std::move(address), limits);
    const auto prepared = line->prepare_tls();
    if (!prepared) return prepared.error();
    return std::unique_ptr<HttpsClient>(new HttpsClient(std::move(line)));
}

HttpsClient::HttpsClient(std::shared_ptr<Line> line) : line_(std::move(line)) {}

HttpsClient::~HttpsClient() = default;

void HttpsClient::send(HttpRequest request, std::function<void(Reply)> done) {
    const std::shared_ptr<Line> line = line_;
    auto finished = [line, done = std::move(done)](std::exception_ptr failure, Reply reply) {
        if (failure) std::rethrow_exception(failure);
        done(std::move(reply));
    };
    asio::co_spawn(line->loop(), line->exchange(std::move(request)), std::move(finished));
}

void HttpsClient::rest() {
    line_->close();
}

}  // namespace nightferry::net
