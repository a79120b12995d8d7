// Ways to a server: its addresses in turn, and through a proxy.
#include "daemon/net/connect.hpp"

#include <boost/asio/ip/address.hpp>

#include "tests/daemon/net/clinic_caller.hpp"
#include "tests/daemon/net/scripted_server.hpp"

namespace nightferry::net {

namespace {

using test::ScriptedServer;
using testing::HasSubstr;
using testing::StartsWith;

std::string turns(std::initializer_list<const char*> found) {
    std::vector<asio::ip::tcp::endpoint> endpoints;
    for (const char* one : found)
        endpoints.emplace_back(asio::ip::make_address(one), 443);
    std::string all;
    for (const auto& one : in_turns(endpoints))
        all += (all.empty() ? "" : " ") + one.address().to_string();
    return all;
}

// RFC 8305 section 4 with a first address family count of 1.
TEST(ConnectTest, FamiliesTakeTurns) {
    EXPECT_EQ(turns({}), "");
    EXPECT_EQ(turns({"192.0.2.1", "192.0.2.2"}), "192.0.2.1 192.0.2.2");
    EXPECT_EQ(turns({"2001:db8::1", "2001:db8::2", "2001:db8::3", "192.0.2.1"}),
              "2001:db8::1 192.0.2.1 2001:db8::2 2001:db8::3");
    EXPECT_EQ(turns({"192.0.2.1", "2001:db8::1", "192.0.2.2", "2001:db8::2"}),
              "192.0.2.1 2001:db8::1 192.0.2.2 2001:db8::2");
    EXPECT_EQ(turns({"192.0.2.1", "192.0.2.2", "2001:db8::1"}), "192.0.2.1 2001:db8::1 192.0.2.2");
}

class ProxyTest : public HttpsClientTest {
 protected:
    // Through a proxy that answers this and then nothing more.
    std::string through(const std::string& answer, const std::string& authorization = {}) {
        ScriptedServer proxy(loop_, {{answer}});
        Route way = route(443);
        way.address.host = "clinic.example";
        way.proxy = Proxy{"127.0.0.1", proxy.port(), authorization};
        return no_answer(ask(*client(way)));
    }
};

TEST_F(ProxyTest, ProxyThatOpensNoWayIsToldInWords) {
    EXPECT_EQ(through("HTTP/1.1 502 Bad Gateway\r\n\r\n"),
              "no: the proxy 127.0.0.1 opens no way to clinic.example:443: HTTP 502");
    EXPECT_EQ(
        through("HTTP/1.1 403 Forbidden\r\nContent-Length: 4\r\n\r\nno!!"),
        "untrusted: the proxy 127.0.0.1 opens no way to clinic.example:443: HTTP 403; whoever runs it has "
        "to allow that, or proxy in the settings name another");
    EXPECT_EQ(
        through("HTTP/1.1 407 Proxy Authentication Required\r\n\r\n"),
        "untrusted: the proxy 127.0.0.1 wants a user name and a password (HTTP 407); proxy_credentials in "
        "the settings names the file with them");
    EXPECT_EQ(through("HTTP/1.1 407 Proxy Authentication Required\r\n\r\n", "Basic eDp5"),
              "untrusted: the proxy 127.0.0.1 does not take the user name and password in proxy_credentials "
              "(HTTP 407)");
    EXPECT_THAT(through("SSH-2.0-OpenSSH_9.2\r\n"),
                StartsWith("no: the proxy 127.0.0.1 did not open a way: "));
    EXPECT_EQ(through("HTTP/1.1 200 OK\r\n\r\nhello"), "no: the proxy 127.0.0.1 sent more than its answer");
    EXPECT_THAT(through("HTTP/1.1 200 OK\r\n\r\n"), StartsWith("no: no TLS connection to clinic.example: "));
}

TEST_F(ProxyTest, ProxyThatIsNotThereIsToldFromTheClinic) {
    Route way = route(443);
    way.address.host = "clinic.example";
    std::uint16_t port = 0;
    {
        ScriptedServer gone(loop_, {});
        port = gone.port();
    }
    way.proxy = Proxy{"127.0.0.1", port, {}};
    EXPECT_THAT(no_answer(ask(*client(way))),
                StartsWith("no: the proxy cannot be reached: no connection to 127.0.0.1"));
}

}  // namespace

}  // namespace nightferry::net
