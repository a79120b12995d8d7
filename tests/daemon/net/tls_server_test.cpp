// The hub as a server over TLS: where it listens, and whom it cuts off.
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/read.hpp>
#include <boost/asio/write.hpp>

#include "tests/daemon/net/clinic_caller.hpp"

namespace nightferry::net {
namespace {

using namespace std::chrono_literals;
using testing::StartsWith;

class TlsServerTest : public HttpsClientTest {
 protected:
    std::string refusal(const std::string& address, const ServerIdentity& what) {
        const auto server = HttpServer::open_tls(loop_, address, 0, what, empty);
        EXPECT_FALSE(server);
        EXPECT_EQ(server.error().code, Errc::setup);
        return server ? "" : server.error().detail;
    }
    // What comes back until the server hangs up, and after how long it does.
    std::pair<std::string, std::chrono::steady_clock::duration> say(std::uint16_t port,
                                                                    const std::string& words) {
        asio::ip::tcp::socket socket(loop_);
        socket.connect({asio::ip::address_v4::loopback(), port});
        asio::write(socket, asio::buffer(words));
        std::string heard;
        bool is_over = false;
        asio::async_read(socket, asio::dynamic_buffer(heard),
                         [&](boost::system::error_code, std::size_t) { is_over = true; });
        const auto begun = std::chrono::steady_clock::now();
        loop_.restart();
        while (!is_over && loop_.run_one_for(30s) > 0) {
        }
        EXPECT_TRUE(is_over);
        return {heard, std::chrono::steady_clock::now() - begun};
    }
};

TEST_F(TlsServerTest, CertificateOrKeyThatDoNotServeAreASetupError) {
    const ServerIdentity good = identity("good");
    const std::string words = "this hub's own certificate or its key cannot be used: ";
    EXPECT_THAT(refusal("127.0.0.1", {"", good.key}), StartsWith(words));
    EXPECT_THAT(refusal("127.0.0.1", {good.certificate, ""}), StartsWith(words));
    const std::string other = test::read_file(certificates_->authority_key());
    const std::string told = refusal("127.0.0.1", {good.certificate, other});
    EXPECT_THAT(told, StartsWith(words));
    EXPECT_EQ(told.find("BEGIN"), std::string::npos);
}

TEST_F(TlsServerTest, AddressThatIsNotOfThisMachineIsASetupError) {
    // RFC 5737: an address of documents.
    EXPECT_THAT(refusal("192.0.2.1", identity("good")), StartsWith("cannot listen on 192.0.2.1"));
    EXPECT_THAT(refusal("hub.home.arpa", identity("good")), StartsWith("cannot listen on hub.home.arpa"));
}

TEST_F(TlsServerTest, ItAnswersOnTheAddressThatWasAskedFor) {
    const auto server = HttpServer::open_tls(loop_, "127.0.0.1", 0, identity("good"), empty).value();
    ASSERT_TRUE(server->port() > 0);
    EXPECT_EQ(no_answer(ask(*client(server->port()))), "answered 200");
}

TEST_F(TlsServerTest, WhoDoesNotBeginTheHandshakeIsCutOff) {
    ServerLimits limits;
    limits.handshake = 1s;
    const auto server = serve(empty, "good", limits);
    const auto [heard, after] = say(server->port(), "");
    EXPECT_EQ(heard, "");
    EXPECT_GE(after, 900ms);
    EXPECT_LT(after, 10s);
}

TEST_F(TlsServerTest, PlainHttpHearsNothingOfTheHub) {
    const auto server = serve([](const HttpRequest&) -> HttpAnswer { return {200, {}, "canary"}; });
    const auto [heard, after] = say(server->port(), "GET / HTTP/1.1\r\nHost: hub\r\n\r\n");
    // At most an alert of TLS (RFC 8446 section 6): seven bytes.
    EXPECT_LE(heard.size(), 7u) << heard;
    EXPECT_LT(after, 5s);
}

}  // namespace
}  // namespace nightferry::net
