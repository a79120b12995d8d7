// One clinic's endpoint as HttpsClient reaches it, or does not.
#include "daemon/net/https_client.hpp"

#include "tests/daemon/net/clinic_caller.hpp"
#include "tests/daemon/net/scripted_server.hpp"

namespace nightferry::net {

namespace {

using test::ScriptedServer;

const std::string ok = "HTTP/1.1 200 OK\r\nContent-Length: 2\r\n\r\nok";

TEST_F(HttpsClientTest, RequestArrivesWholeAndItsAnswerComesBackWhole) {
    std::vector<HttpRequest> seen;
    const auto server = serve([&](const HttpRequest& request) {
        seen.push_back(request);
        return HttpAnswer{
            201, {{"ETag", "W/\"1\""}, {"Location", "Observation/o7"}}, "{\"resourceType\":\"Observation\"}"};
    });
    const auto one = client(server->port());
    const std::string body(300'000, 'b');
    const HttpAnswer answer = answer_of(ask(
        *one, {"POST", "/Observation", {{"Content-Type", "application/fhir+json"}, {"Prefer", "x"}}, body}));
    EXPECT_EQ(answer.status, 201);
    EXPECT_EQ(header(answer.headers, "ETag"), "W/\"1\"");
    EXPECT_EQ(header(answer.headers, "Location"), "Observation/o7");
    EXPECT_EQ(answer.body, "{\"resourceType\":\"Observation\"}");
    ASSERT_EQ(seen.size(), 1u);
    EXPECT_EQ(seen[0].method, "POST");
    EXPECT_EQ(seen[0].target, "/fhir/Observation");
    EXPECT_EQ(seen[0].body, body);
    EXPECT_EQ(header(seen[0].headers, "Host"), "127.0.0.1:" + std::to_string(server->port()));
    EXPECT_EQ(header(seen[0].headers, "User-Agent"), "nightferry");
    EXPECT_EQ(header(seen[0].headers, "Content-Type"), "application/fhir+json");
    EXPECT_EQ(header(seen[0].headers, "Prefer"), "x");
}

TEST_F(HttpsClientTest, ConnectionIsKeptUntilRest) {
    ServerLimits limits;
    limits.connections = 1;
    const auto server = serve(empty, "good", limits);
    const auto first = client(server->port());
    const auto second = client(server->port());
    EXPECT_EQ(answer_of(ask(*first)).status, 200);
    EXPECT_THAT(no_answer(ask(*second)), testing::StartsWith("no: "));
    EXPECT_EQ(answer_of(ask(*first)).status, 200);
    first->rest();
    Reply freed = ask(*second);
    for (int tries = 0; tries < 1000 && std::holds_alternative<NoAnswer>(freed); ++tries)
        freed = ask(*second);  // Until the server has noticed.
    EXPECT_EQ(answer_of(freed).status, 200);
}

TEST_F(HttpsClientTest, AnotherAuthoritysCertificateIsUntrusted) {
    std::size_t handled = 0;
    const auto server = serve([&](const HttpRequest& request) {
        ++handled;
        return empty(request);
    });
    for (const std::optional<std::string>& trust :
         {std::optional<std::string>("stranger"), std::optional<std::string>()}) {
        const auto one = client(server->port(), trust);
        EXPECT_THAT(no_answer(ask(*one)),
                    testing::StartsWith("untrusted: the certificate of 127.0.0.1 is not trusted: "));
    }
    EXPECT_EQ(handled, 0u);
}

TEST_F(HttpsClientTest, CertificateForAnotherNameIsUntrusted) {
    const auto server = serve(empty, "elsewhere");
    EXPECT_THAT(no_answer(ask(*client(server->port()))),
                testing::StartsWith("untrusted: the certificate of 127.0.0.1 is not trusted: "));
}

TEST_F(HttpsClientTest, ExpiredCertificateIsUntrusted) {
    const auto server = serve(empty, "expired");
    EXPECT_THAT(no_answer(ask(*client(server->port()))),
                testing::StartsWith(
                    "untrusted: the certificate of 127.0.0.1 is not trusted: certificate has expired"));
}

TEST_F(HttpsClientTest, ServerThatSpeaksNoTlsWasNotReached) {
    const std::string portal = "HTTP/1.1 302 Found\r\nLocation: http://hotel.example/\r\n\r\n";
    for (const std::string& answer : {portal, std::string("SSH-2.0-OpenSSH_9.2\r\n"),
                                      std::string(100, '\x16'), std::string("\x16\x03\x03\x40\x00\x02", 6)}) {
        ScriptedServer server(loop_, {{answer}});
        EXPECT_THAT(no_answer(ask(*client(server.port()))),
                    testing::StartsWith("no: no TLS connection to 127.0.0.1: "));
    }
}

TEST_F(HttpsClientTest, ServerThatRefusesUsWithAnAlertIsUntrusted) {
    // RFC 8446 section 6: a record of type 21 with a level (2: fatal) and what it is about.
    for (const char about : {'\x28', '\x30', '\x31', '\x46', '\x50', '\x74'}) {
        ScriptedServer server(loop_, {{std::string("\x15\x03\x03\x00\x02\x02", 6) + about}});
        EXPECT_THAT(
            no_answer(ask(*client(server.port()))),
            testing::AnyOf(
                testing::StartsWith("untrusted: no trusted connection to 127.0.0.1 could be agreed: "),
                testing::StartsWith("untrusted: 127.0.0.1 wants a certificate of this hub: ")));
    }
}

// RFC 8446 section 6.2, which is about TLS 1.2, too.
TEST_F(HttpsClientTest, AlertsAreToldWithWhatToDo) {
    const auto told = [&](char about) {
        ScriptedServer server(loop_, {{std::string("\x15\x03\x03\x00\x02\x02", 6) + about}});
        return no_answer(ask(*client(server.port())));
    };
    using testing::HasSubstr;
    EXPECT_THAT(told(70),
                HasSubstr("no version of TLS that is safe; the clinic's IT has to allow 1.2 or 1.3"));
    EXPECT_THAT(told(40), HasSubstr("no cipher that is safe; the clinic's IT has to allow"));
    EXPECT_THAT(told(116), HasSubstr("wants a certificate of this hub: ask the clinic's IT for one"));
    EXPECT_THAT(told(80), HasSubstr("it says 'internal error'"));
}

TEST_F(HttpsClientTest, NobodyListeningWasNotReached) {
    using asio::ip::tcp;
    const tcp::socket taken(
        loop_, tcp::endpoint(asio::ip::address_v4::loopback(), 0));  // Bound, and does not listen.
    const std::uint16_t port = taken.local_endpoint().port();
    EXPECT_EQ(no_answer(ask(*client(port))), "no: no connection to 127.0.0.1: Connection refused");
    EXPECT_EQ(no_answer(ask(*plain_client(port))), "no: no connection to 127.0.0.1: Connection refused");
}

TEST_F(HttpsClientTest, ServerThatGoesAwayDuringTheHandshakeWasNotReached) {
    ScriptedServer server(loop_, {{""}});
    EXPECT_THAT(no_answer(ask(*client(server.port()))),
                testing::StartsWith("no: no TLS connection to 127.0.0.1: "));
}

TEST_F(HttpsClientTest, ServerThatClosesWithoutAnsweringMayHaveActed) {
    ScriptedServer server(loop_, {{""},
                                  {"HTTP/1.1 200 OK\r\nContent-Le"},
                                  {"HTTP/1.1 200 OK\r\nContent-Length: 9\r\n\r\nhalf"},
                                  {ok}});
    const auto one = plain_client(server.port());
    EXPECT_THAT(no_answer(ask(*one)),
                testing::StartsWith("perhaps: the connection to 127.0.0.1 broke before an answer came: "));
    for (int i = 0; i < 2; ++i) {
        EXPECT_EQ(no_answer(ask(*one)),
                  "perhaps: the connection to 127.0.0.1 broke in the middle of the answer");
    }
    EXPECT_EQ(answer_of(ask(*one)).body, "ok");  // On a connection of its own.
    EXPECT_EQ(server.connections, 4u);
}

TEST_F(HttpsClientTest, ServerThatDoesNotAnswerInTimeMayHaveActed) {
    ScriptedServer server(loop_, {});
    ClientLimits limits;
    limits.exchange = std::chrono::seconds(0);
    EXPECT_EQ(no_answer(ask(*plain_client(server.port(), limits))),
              "perhaps: 127.0.0.1 did not answer in time");
}

TEST_F(HttpsClientTest, ServerThatDoesNotShakeHandsInTimeWasNotReached) {
    ScriptedServer server(loop_, {});
    ClientLimits limits;
    limits.handshake = std::chrono::seconds(0);
    EXPECT_EQ(no_answer(ask(*client(server.port(), "ca", limits))),
              "no: no TLS connection to 127.0.0.1: no answer in time");
}

TEST_F(HttpsClientTest, PlainHttpToLoopbackSendsPlainRequests) {
    ScriptedServer server(loop_, {{ok, ok}});
    const auto one = plain_client(server.port());
    EXPECT_EQ(answer_of(ask(*one)).body, "ok");
    EXPECT_EQ(answer_of(ask(*one, {"POST", "", {}, "{}"})).body, "ok");
    const std::string head = "Host: 127.0.0.1:" + std::to_string(server.port()) +
                             "\r\nUser-Agent: nightferry\r\nAccept-Encoding: gzip\r\n";
    EXPECT_EQ(server.requests,
              (std::vector{"GET /fhir/metadata HTTP/1.1\r\n" + head + "\r\n",
                           "POST /fhir HTTP/1.1\r\n" + head + "Content-Length: 2\r\n\r\n{}"}));
    EXPECT_EQ(server.connections, 1u);
}

TEST_F(HttpsClientTest, ConnectionIsGivenUpWhenTheServerSaysSo) {
    const std::string last = "HTTP/1.1 200 OK\r\nConnection: close\r\nContent-Length: 4\r\n\r\nlast";
    ScriptedServer server(loop_, {{last, "not asked"}, {ok}});
    const auto one = plain_client(server.port());
    EXPECT_EQ(answer_of(ask(*one)).body, "last");
    EXPECT_EQ(answer_of(ask(*one)).body, "ok");
    EXPECT_EQ(server.connections, 2u);
}

TEST_F(HttpsClientTest, AnswerNobodyAskedForIsNotTakenForTheNextOne) {
    ScriptedServer server(loop_, {{"HTTP/1.1 200 OK\r\nContent-Length: 1\r\n\r\n1" + ok}, {ok}});
    const auto one = plain_client(server.port());
    EXPECT_EQ(answer_of(ask(*one)).body, "1");
    EXPECT_EQ(answer_of(ask(*one)).body, "ok");
    EXPECT_EQ(server.connections, 2u);
}

TEST_F(HttpsClientTest, RedirectIsReturnedAndNotFollowed) {
    std::vector<std::string> targets;
    std::string elsewhere;
    const auto server = serve([&](const HttpRequest& request) {
        targets.push_back(request.target);
        return HttpAnswer{307, {{"Location", elsewhere}}, {}};
    });
    elsewhere = "https://127.0.0.1:" + std::to_string(server->port()) + "/other";
    const HttpAnswer answer = answer_of(ask(*client(server->port())));
    EXPECT_EQ(answer.status, 307);
    EXPECT_EQ(header(answer.headers, "Location"), elsewhere);
    EXPECT_EQ(targets, std::vector<std::string>{"/fhir/metadata"});
}

TEST_F(HttpsClientTest, AnswerOfTwentyMebibytesIsRefused) {
    std::size_t size = 20 * 1024 * 1024;
    const auto server = serve([&](const HttpRequest&) {
        return HttpAnswer{200, {}, std::string(size, 'a')};
    });
    const auto one = client(server->port());
    EXPECT_EQ(no_answer(ask(*one)), "perhaps: the answer of 127.0.0.1 is larger than we take (16 MiB)");
    size = 16 * 1024 * 1024;  // The most that is taken.
    EXPECT_EQ(answer_of(ask(*one)).body.size(), size);
}

TEST_F(HttpsClientTest, WhatIsNoHttpIsToldSo) {
    ScriptedServer server(loop_, {{"220 mail.example ESMTP\r\n\r\n"},
                                  {"HTTP/1.1 200 OK\r\nContent-Length: -5\r\n\r\n"},
                                  {"HTTP/1.1 200 OK\r\nX: " + std::string(70'000, 'a')}});
    const auto one = plain_client(server.port());
    const std::string what = "perhaps: the answer of 127.0.0.1 is no HTTP as it should be ";
    EXPECT_EQ(no_answer(ask(*one)), what + "(bad version); compare the port in url of the settings");
    EXPECT_EQ(no_answer(ask(*one)), what + "(bad Content-Length); compare the port in url of the settings");
    EXPECT_EQ(no_answer(ask(*one)),
              "perhaps: the answer of 127.0.0.1 has a head that is larger than we take (64 KiB)");
}

TEST_F(HttpsClientTest, CaFileThatCannotBeUsedIsASetupError) {
    const test::TemporaryFolder folder;
    test::write_file(folder / "diary.pem", "Dear diary\n");
    for (const std::string name : {"missing.pem", "diary.pem"}) {
        Route untrusting = route(443);
        untrusting.tls.trust = folder / name;
        const auto refused = HttpsClient::make(loop_, untrusting);
        ASSERT_FALSE(refused) << name;
        EXPECT_EQ(refused.error().code, Errc::setup);
        EXPECT_THAT(refused.error().detail,
                    testing::StartsWith("the CA file " + (folder / name).string() + " cannot be used: "));
    }
}

}  // namespace

}  // namespace nightferry::net
