#include "daemon/net/https_client.hpp"

#include <openssl/ssl.h>

#include <boost/asio/as_tuple.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/core/tcp_stream.hpp>
#include <boost/beast/http.hpp>
#include <boost/beast/ssl/ssl_stream.hpp>
#include <variant>

#include "daemon/net/gzip.hpp"
#include "daemon/net/tls_door.hpp"

namespace nightferry::net {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace http = boost::beast::http;
using boost::system::error_code;
using sync::NoAnswer;
using sync::Reply;

namespace {

constexpr auto as_result = asio::as_tuple(asio::use_awaitable);

using PlainStream = beast::tcp_stream;

http::request<http::string_body> to_beast(const HttpRequest& request, const WebAddress& address) {
    http::request<http::string_body> message{http::string_to_verb(request.method),
                                             address.path + request.target, 11};
    if (message.target().empty()) message.target("/");
    message.set(http::field::host, address.authority());
    message.set(http::field::user_agent, "nightferry");
    message.set(http::field::accept_encoding, "gzip");
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

std::optional<NoAnswer> no_name(const std::string& host) {
    return NoAnswer{NoAnswer::Reached::untrusted, "the name " + host + " cannot be checked in a certificate"};
}

std::optional<NoAnswer> no_way(const NotConnected& none) {
    return NoAnswer{none.is_for_people ? NoAnswer::Reached::untrusted : NoAnswer::Reached::no, none.words};
}

std::string size_text(std::size_t bytes) {
    constexpr std::size_t kib = 1024;
    return bytes % (kib * kib) == 0 ? std::to_string(bytes / (kib * kib)) + " MiB"
                                    : std::to_string(bytes / kib) + " KiB";
}

// What the other side wrote breaks the rules; that it wrote nothing does not.
bool is_of_http(const error_code& why) {
    return why.category() == http::make_error_code(http::error::bad_version).category() &&
           why != http::error::end_of_stream;
}

bool is_coded_as(std::string_view coding, std::string_view name) {
    return beast::iequals({coding.data(), coding.size()}, {name.data(), name.size()});
}

}  // namespace

class HttpsClient::Line {
 public:
    Line(asio::io_context& loop, Route route, ClientLimits limits, std::unique_ptr<TlsDoor> door)
        : loop_(loop), route_(std::move(route)), limits_(limits), door_(std::move(door)) {}

    asio::awaitable<Reply> exchange(HttpRequest request) {
        // They would pass for the answer to this request (RFC 9112 section 9.2).
        if (has_unasked_bytes()) close();
        if (std::holds_alternative<std::monostate>(stream_)) {
            if (auto failed = co_await open()) {
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

    void close() {
        if (auto* tls = std::get_if<TlsStream>(&stream_)) TlsDoor::part_well(*tls);
        stream_.emplace<std::monostate>();
    }
    asio::io_context& loop() { return loop_; }
    const TlsDoor* door() const { return door_.get(); }
    const Arrival& arrival() const { return arrival_; }

 private:
    asio::awaitable<std::optional<NoAnswer>> open() {
        has_answered_ = false;
        arrival_ = {};
        const WebAddress& to = route_.address;
        // GCC 12 destroys twice what a coroutine awaits in a conditional, or returns from within braces.
        Connection connection;
        if (route_.proxy) {
            connection =
                co_await connect_through(loop_, *route_.proxy, to.host, to.port, limits_.connect, arrival_);
        } else {
            connection = co_await connect(loop_, to.host, to.port, limits_.connect, arrival_);
        }
        if (auto* none = std::get_if<NotConnected>(&connection)) co_return no_way(*none);
        PlainStream tcp_stream(std::move(std::get<asio::ip::tcp::socket>(connection)));
        if (!door_) {
            stream_.emplace<PlainStream>(std::move(tcp_stream));
            co_return std::nullopt;
        }
        TlsStream& tls = stream_.emplace<TlsStream>(std::move(tcp_stream), door_->context());
        if (!door_->prepare(tls)) co_return no_name(to.host);
        beast::get_lowest_layer(tls).expires_after(limits_.handshake);
        auto [failure] = co_await tls.async_handshake(asio::ssl::stream_base::client, as_result);
        auto fault = door_->judge(tls, failure);
        if (!fault) note_trusted(tls);
        co_return fault;
    }

    void note_trusted(TlsStream& tls) {
        const SSL* handle = tls.native_handle();
        arrival_.stage = Arrival::Stage::trusted;
        arrival_.tls = std::string(SSL_get_version(handle)) + " with " + SSL_get_cipher_name(handle);
        arrival_.trust_ends = door_->trust_ends();
    }

    template <class Stream>
    asio::awaitable<Reply> talk(Stream& stream, const HttpRequest& request) {
        auto& deadline = beast::get_lowest_layer(stream);
        deadline.expires_after(limits_.exchange);
        const auto message = to_beast(request, route_.address);
        auto [write_failure, written] = co_await http::async_write(stream, message, as_result);
        if (write_failure) co_return perhaps(write_failure);
        beast::flat_buffer buffer;
        http::response_parser<http::string_body> parser;
        parser.header_limit(static_cast<std::uint32_t>(limits_.header_bytes));
        parser.body_limit(limits_.body_bytes);
        auto [read_failure, read] = co_await http::async_read(stream, buffer, parser, as_result);
        if (read_failure) co_return perhaps(read_failure);
        has_answered_ = true;
        const bool keep = parser.get().keep_alive() && buffer.size() == 0;
        HttpAnswer answer = from_beast(parser.release());
        deadline.expires_never();
        if (!keep) close();
        co_return unpacked(std::move(answer));
    }

    Reply unpacked(HttpAnswer answer) const {
        const std::string_view coding = header(answer.headers, "Content-Encoding");
        if (coding.empty() || is_coded_as(coding, "identity") || answer.body.empty()) return answer;
        if (!is_coded_as(coding, "gzip") && !is_coded_as(coding, "x-gzip"))
            return unusable("is packed in a way that was not asked for");
        auto text = unpack_gzip(answer.body, limits_.body_bytes);
        if (!text) return unusable("cannot be used: " + text.error().detail);
        answer.body = std::move(*text);
        return answer;
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

    NoAnswer unusable(const std::string& why) const {
        return {NoAnswer::Reached::perhaps, "the answer of " + route_.address.host + " " + why};
    }

    NoAnswer perhaps(const error_code& why) {
        const std::string& host = route_.address.host;
        // Only in place of the first answer is it about the handshake; later the request may have been acted
        // on.
        auto* tls = std::get_if<TlsStream>(&stream_);
        if (tls != nullptr && !has_answered_ && !door_->was_resumed()) {
            if (auto refusal = door_->refusal_of_ours(*tls, why)) return *refusal;
        }
        if (why == beast::error::timeout)
            return {NoAnswer::Reached::perhaps, host + " did not answer in time"};
        if (why == http::error::body_limit)
            return unusable("is larger than we take (" + size_text(limits_.body_bytes) + ")");
        if (why == http::error::header_limit)
            return unusable("has a head that is larger than we take (" + size_text(limits_.header_bytes) +
                            ")");
        if (why == http::error::partial_message) {
            return {NoAnswer::Reached::perhaps,
                    "the connection to " + host + " broke in the middle of the answer"};
        }
        if (is_of_http(why))
            return unusable("is no HTTP as it should be (" + why.message() +
                            "); compare the port in url of the settings");
        return {NoAnswer::Reached::perhaps,
                "the connection to " + host + " broke before an answer came: " + why.message()};
    }

    asio::io_context& loop_;
    const Route route_;
    const ClientLimits limits_;
    std::unique_ptr<TlsDoor> door_;  // Null without TLS. Streams refer to it.
    std::variant<std::monostate, PlainStream, TlsStream> stream_;
    bool has_answered_ = false;  // On this connection.
    Arrival arrival_;            // The same.
};

Result<std::unique_ptr<HttpsClient>> HttpsClient::make(asio::io_context& loop, Route route,
                                                       ClientLimits limits) {
    std::unique_ptr<TlsDoor> door;
    if (route.address.tls) {
        auto made = TlsDoor::make(route.tls, route.address.host);
        if (!made) return made.error();
        door = std::move(*made);
    }
    auto line = std::make_shared<Line>(loop, std::move(route), limits, std::move(door));
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

std::optional<Instant> HttpsClient::trust_ends() const {
    return line_->door() == nullptr ? std::nullopt : line_->door()->trust_ends();
}

const Arrival& HttpsClient::arrival() const {
    return line_->arrival();
}

bool HttpsClient::was_resumed() const {
    return line_->door() != nullptr && line_->door()->was_resumed();
}

}  // namespace nightferry::net
