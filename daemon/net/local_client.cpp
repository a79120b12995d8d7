#include "daemon/net/local_client.hpp"

#include <boost/asio/as_tuple.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/local/stream_protocol.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/beast/core/basic_stream.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/http.hpp>
#include <optional>

namespace nightferry::net {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace http = boost::beast::http;
using asio::local::stream_protocol;

namespace {

constexpr auto as_result = asio::as_tuple(asio::use_awaitable);
constexpr std::size_t answer_bytes_max = 64 * 1024 * 1024;

asio::awaitable<Result<HttpAnswer>> call(std::filesystem::path socket, HttpRequest request,
                                         std::chrono::seconds patience) {
    const auto executor = co_await asio::this_coro::executor;
    beast::basic_stream<stream_protocol> stream(executor);
    stream.expires_after(patience);
    auto [unreached] = co_await stream.async_connect(stream_protocol::endpoint(socket.string()), as_result);
    if (unreached == boost::system::errc::permission_denied) {
        co_return Error{Errc::setup,
                        "you may not use " + socket.string() + "; ask for the group it belongs to"};
    }
    if (unreached) {
        co_return Error{Errc::unreachable,
                        "nobody listens on " + socket.string() + " (" + unreached.message() + ")"};
    }
    http::request<http::string_body> message{http::string_to_verb(request.method), request.target, 11};
    message.set(http::field::host, "localhost");
    message.keep_alive(false);
    for (const auto& [key, value] : request.headers)
        message.set(key, value);
    message.body() = std::move(request.body);
    message.prepare_payload();
    auto [unwritten, written] = co_await http::async_write(stream, message, as_result);
    beast::flat_buffer buffer;
    http::response_parser<http::string_body> parser;
    parser.body_limit(answer_bytes_max);
    auto [unread, read] = co_await http::async_read(stream, buffer, parser, as_result);
    // A daemon that refuses a large request answers before it has read it all; then the write fails and the
    // answer is there all the same.
    if (unread && (unread == beast::error::timeout || unwritten == beast::error::timeout)) {
        co_return Error{Errc::locked, "the daemon is there and has not answered for " +
                                          std::to_string(patience.count()) +
                                          " seconds; it is busy, and what was asked may still be done"};
    }
    if (unread) {
        const auto& why = unwritten ? unwritten : unread;
        co_return Error{Errc::unreachable, "the daemon gave no answer: " + why.message()};
    }
    HttpAnswer answer;
    answer.status = static_cast<int>(parser.get().result_int());
    for (const auto& field : parser.get())
        answer.headers.emplace_back(std::string(field.name_string()), std::string(field.value()));
    answer.body = std::move(parser.get().body());
    co_return answer;
}

}  // namespace

Result<HttpAnswer> call_local(const std::filesystem::path& socket, const HttpRequest& request,
                              std::chrono::seconds patience) {
    asio::io_context loop;
    std::optional<Result<HttpAnswer>> outcome;
    // Result has no default constructor for co_spawn to fall back on, so an optional carries it out.
    auto task = [](std::filesystem::path path, HttpRequest message, std::chrono::seconds time,
                   std::optional<Result<HttpAnswer>>* into) -> asio::awaitable<void> {
        into->emplace(co_await call(std::move(path), std::move(message), time));
    };
    auto done = [](std::exception_ptr failure) {
        if (failure) std::rethrow_exception(failure);
    };
    asio::co_spawn(loop, task(socket, request, patience, &outcome), done);
    loop.run();
    return std::move(*outcome);
}

}  // namespace nightferry::net
