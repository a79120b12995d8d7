// A clinic's server and the hub's client of it in one event loop.
#pragma once

#include <gtest/gtest.h>

#include <boost/asio/io_context.hpp>
#include <memory>
#include <optional>
#include <string>

#include "daemon/net/http_server.hpp"
#include "daemon/net/https_client.hpp"
#include "tests/daemon/net/certificates.hpp"

namespace nightferry::net {

namespace asio = boost::asio;
using sync::NoAnswer;
using sync::Reply;

inline const HttpRequest metadata{"GET", "/metadata", {}, {}};

inline HttpAnswer answer_of(const Reply& reply) {
    const auto* none = std::get_if<NoAnswer>(&reply);
    EXPECT_EQ(none, nullptr) << none->words;
    return none == nullptr ? std::get<HttpAnswer>(reply) : HttpAnswer{};
}

// "untrusted: …" when there is no answer.
inline std::string no_answer(const Reply& reply) {
    if (const auto* answer = std::get_if<HttpAnswer>(&reply))
        return "answered " + std::to_string(answer->status);
    const auto& none = std::get<NoAnswer>(reply);
    switch (none.reached) {
        case NoAnswer::Reached::no:
            return "no: " + none.words;
        case NoAnswer::Reached::untrusted:
            return "untrusted: " + none.words;
        case NoAnswer::Reached::perhaps:
            return "perhaps: " + none.words;
    }
    return {};
}

class HttpsClientTest : public testing::Test {
 protected:
    static void SetUpTestSuite() { certificates_ = std::make_unique<test::Certificates>(); }
    static void TearDownTestSuite() { certificates_.reset(); }

    std::unique_ptr<HttpServer> serve(HttpServer::Handler handler, const std::string& certificate = "good",
                                      ServerLimits limits = {}) {
        return std::move(
            HttpServer::open_tls(loop_, "127.0.0.1", 0, identity(certificate), std::move(handler), limits)
                .value());
    }

    static ServerIdentity identity(const std::string& certificate) {
        return {test::read_file(certificates_->certificate(certificate)),
                test::read_file(certificates_->server_key())};
    }

    std::unique_ptr<HttpsClient> client(std::uint16_t port, const std::optional<std::string>& trust = "ca",
                                        ClientLimits limits = {}) {
        return client(route(port, trust), limits);
    }
    std::unique_ptr<HttpsClient> client(const Route& route, ClientLimits limits = {}) {
        return std::move(HttpsClient::make(loop_, route, limits).value());
    }
    std::unique_ptr<HttpsClient> plain_client(std::uint16_t port, ClientLimits limits = {}) {
        return client(Route{{false, "127.0.0.1", port, "/fhir", {}}, {}, {}}, limits);
    }
    static Route route(std::uint16_t port, const std::optional<std::string>& trust = "ca") {
        Route made{{true, "127.0.0.1", port, "/fhir", {}}, {}, {}};
        if (trust) made.tls.trust = certificates_->certificate(*trust);
        return made;
    }

    Reply ask(HttpsClient& client, const HttpRequest& request = metadata) {
        reply_.reset();
        client.send(request, [this](Reply reply) { reply_ = std::move(reply); });
        EXPECT_FALSE(reply_.has_value()) << "called back from inside send()";
        loop_.restart();
        constexpr std::chrono::seconds far_too_long{30};
        while (!reply_ && loop_.run_one_for(far_too_long) > 0) {
        }
        return reply_.value_or(NoAnswer{NoAnswer::Reached::no, "never called back"});
    }

    static HttpAnswer empty(const HttpRequest&) { return {200, {}, {}}; }

    static inline std::unique_ptr<test::Certificates> certificates_;
    asio::io_context loop_;
    std::optional<Reply> reply_;
};

}  // namespace nightferry::net
