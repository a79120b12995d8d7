// Who is let in, and what else asks in vain.
#include "daemon/page/gate.hpp"

#include "daemon/core/secrets.hpp"
#include "tests/daemon/page/let_in.hpp"

namespace nightferry::page {
namespace {

using testing::AllOf;
using testing::ElementsAre;
using testing::EndsWith;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;
using testing::StartsWith;

class GateTest : public LetInTest {};

TEST_F(GateTest, PairedPhoneIsKnownByItsCookieAndNobodyElseIs) {
    const std::string cookie = paired_cookie("tove");
    const std::string other = paired_cookie("marlow");
    EXPECT_EQ(who(get(cookie)), "tove");
    EXPECT_EQ(who(get(other)), "marlow");
    EXPECT_EQ(who(get("theme=dark; " + cookie + "; a=b")), "tove");
    EXPECT_EQ(who(get()), "");
    EXPECT_EQ(gate_.failed(), std::nullopt);
}

// RFC 6265bis sections 4.1.3.2 and 5.5: a name with __Host- asks for Secure and Path=/ without Domain; 400
// days.
TEST_F(GateTest, CookieIsForThisHostOverTlsAndNoScriptAlone) {
    const auto paired = gate_.pair(code(), hub_.clock.now());
    ASSERT_TRUE(paired);
    EXPECT_THAT(paired->cookie,
                AllOf(StartsWith("__Host-nightferry="),
                      EndsWith("; Max-Age=34560000; Path=/; Secure; HttpOnly; SameSite=Strict"),
                      Not(HasSubstr("Domain"))));
    const std::string token = paired->cookie.substr(18, paired->cookie.find(';') - 18);
    EXPECT_EQ(token.size(), 64u) << "256 bits";
    EXPECT_EQ(paired->device.token_hash, sha256(token));
    EXPECT_EQ(paired->device.name, "Tove's phone");
}

TEST_F(GateTest, ForgedCookiesAreNobodys) {
    const std::string cookie = paired_cookie();
    const std::string token = cookie.substr(cookie.find('=') + 1);
    std::string near = cookie;
    near.back() = near.back() == '0' ? '1' : '0';
    for (const std::string& forged :
         {near, cookie + "0", cookie.substr(0, cookie.size() - 1), std::string("__Host-nightferry="),
          std::string("__Host-nightferry"), "nightferry=" + token, "__host-nightferry=" + token,
          "__Host-nightferry=\"" + token + "\"", "__Host-nightferry=" + sha256(token),
          "__Host-nightferry=" + std::string(64, '%'), std::string(";;;=;"), std::string(";"),
          cookie + "; " + cookie, near + "; " + cookie})
        EXPECT_EQ(who(get(forged)), "") << forged;
    HttpRequest twice = get(cookie);
    twice.headers.emplace_back("Cookie", near);
    EXPECT_EQ(who(twice), "");
    EXPECT_EQ(who(get(cookie)), "tove");
}

TEST_F(GateTest, RevokedPhoneAndThatOfACarerWhoIsGoneAreNobodys) {
    const std::string cookie = paired_cookie("tove");
    const std::string other = paired_cookie("marlow");
    ASSERT_TRUE(shelf_.revoke(gate_.who(get(cookie))->id, "marlow", hub_.clock.now()).value());
    EXPECT_EQ(who(get(cookie)), "");
    EXPECT_EQ(who(get(other)), "marlow");
    std::erase_if(hub_.household.carers, [](const auto& one) { return one.key == "marlow"; });
    EXPECT_EQ(who(get(other)), "");
}

// The day at home: in Dublin's summer 23:30 UTC is the next one.
TEST_F(GateTest, DayOfTheLastUseIsNoted) {
    const std::string cookie = paired_cookie();
    EXPECT_EQ(shelf_.list().value().at(0).seen_on, "");
    EXPECT_EQ(who(get(cookie)), "tove");
    EXPECT_EQ(shelf_.list().value().at(0).seen_on, "2026-11-02");
    hub_.clock.move(std::chrono::hours{12});
    EXPECT_EQ(who(get(cookie)), "tove");
    EXPECT_EQ(shelf_.list().value().at(0).seen_on, "2026-11-03");
    hub_.clock.move(-std::chrono::days{180} + std::chrono::minutes{-30});
    EXPECT_EQ(who(get(cookie)), "tove");
    EXPECT_EQ(shelf_.list().value().at(0).seen_on, "2026-05-07") << "2026-05-06T23:30Z";
}

TEST_F(GateTest, WrongCodesAreRefusedAndToldWithoutThem) {
    code();
    for (int i = 0; i < 5; ++i)
        EXPECT_EQ(gate_.pair("ZZZZZZZZ", hub_.clock.now()).error().code, Errc::bad_input);
    EXPECT_EQ(gate_.pair("ZZZZZZZZ", hub_.clock.now()).error().code, Errc::locked);
    EXPECT_THAT(hub_.log.lines, ElementsAre("warning pairing_refused outcome=wrong seconds=0",
                                            "warning pairing_refused outcome=wrong seconds=0",
                                            "warning pairing_refused outcome=wrong seconds=0",
                                            "warning pairing_refused outcome=wrong seconds=0",
                                            "warning pairing_refused outcome=locked seconds=60",
                                            "warning pairing_refused outcome=while_locked seconds=60"));
    EXPECT_THAT(shelf_.list().value(), IsEmpty());
}

TEST_F(GateTest, LettingInIsToldByTheIdAlone) {
    const auto paired = gate_.pair(code(), hub_.clock.now());
    ASSERT_TRUE(paired);
    EXPECT_THAT(hub_.log.lines, ElementsAre("info device_paired device=" + paired->device.id));
    EXPECT_EQ(paired->device.id.size(), 8u);
}

TEST_F(GateTest, WithoutRoomNobodyIsLetInAndTheHubGoesOn) {
    // What fits into the pages that are there needs no room.
    const std::string good = code("tove", std::string(100'000, 'x'));
    hub_.fill_disk();
    EXPECT_EQ(gate_.pair(good, hub_.clock.now()).error().code, Errc::disk_full);
    EXPECT_EQ(gate_.failed(), std::nullopt);
    hub_.make_room();
    EXPECT_TRUE(gate_.pair(code(), hub_.clock.now()));
}

TEST_F(GateTest, LogbookThatFailsIsTold) {
    const std::string cookie = paired_cookie();
    ASSERT_TRUE(hub_.db->run("DROP TABLE devices"));
    EXPECT_EQ(who(get(cookie)), "");
    EXPECT_TRUE(gate_.failed());
}

TEST_F(GateTest, ReadingIsOwnUnderEveryNameOfTheCertificate) {
    for (const char* host : {"hub.home.arpa:8443", "HUB.Home.Arpa:8443", "192.168.1.10:8443",
                             "[fd00::10]:8443", "kitchen.ferry.example:8443"})
        EXPECT_TRUE(gate_.is_own(get({}, host))) << host;
    EXPECT_THAT(gate_.addresses(), ElementsAre("https://hub.home.arpa:8443", "https://192.168.1.10:8443",
                                               "https://[fd00::10]:8443"));
}

// A stranger's name that leads here, and what else is no name of this hub.
TEST_F(GateTest, NothingIsOwnUnderAnotherName) {
    const std::string cookie = paired_cookie();
    for (const char* host : {"rebound.example:8443",
                             "hub.home.arpa",
                             "hub.home.arpa:443",
                             "hub.home.arpa:8444",
                             "home.arpa:8443",
                             "hub.home.arpa.example:8443",
                             "xhub.home.arpa:8443",
                             "192.168.1.11:8443",
                             "localhost:8443",
                             "a.kitchen.ferry.example:8443",
                             "ferry.example:8443",
                             "me@hub.home.arpa:8443",
                             "hub.home.arpa:8443/x",
                             "hub.home.arpa:8443?x",
                             "hub.home.arpa:8443#x",
                             "hub.home.arpa:8443:8443",
                             "",
                             " ",
                             "*.ferry.example:8443x",
                             "fd00::10:8443"})
        EXPECT_FALSE(gate_.is_own(get(cookie, host))) << host;
    EXPECT_FALSE(gate_.is_own(without(get(), "Host")));
    HttpRequest twice = get();
    twice.headers.emplace_back("Host", "hub.home.arpa:8443");
    EXPECT_FALSE(gate_.is_own(twice));
}

TEST_F(GateTest, BeforeItIsOpenNothingIsOwn) {
    const Gate closed({hub_.household, shelf_, pairing_, secrets_, hub_.clock, hub_.log});
    EXPECT_FALSE(closed.is_own(get()));
    EXPECT_FALSE(closed.is_own(get({}, "hub.home.arpa:0")));
}

TEST_F(GateTest, OnThePortThatIsUsualForTlsHostsHaveNone) {
    gate_.open_at({"hub.home.arpa"}, 443);
    EXPECT_TRUE(gate_.is_own(get({}, "hub.home.arpa")));
    EXPECT_THAT(gate_.addresses(), ElementsAre("https://hub.home.arpa"));
    EXPECT_TRUE(gate_.is_own(
        {"POST", "/pair", {{"Host", "hub.home.arpa"}, {"Origin", "https://hub.home.arpa"}}, {}}));
}

TEST_F(GateTest, WhatChangesSomethingHasToComeFromThePage) {
    EXPECT_TRUE(gate_.is_own(post("/pair")));
    EXPECT_TRUE(gate_.is_own(without(post("/pair"), "Sec-Fetch-Site"))) << "older browsers";
    EXPECT_FALSE(gate_.is_own(without(post("/pair"), "Origin")));
    for (const char* origin :
         {"null", "", "http://hub.home.arpa:8443", "https://hub.home.arpa", "https://hub.home.arpa:8444",
          "https://192.168.1.10:8443", "https://rebound.example", "https://hub.home.arpa:8443/",
          "https://hub.home.arpa:8443.example"})
        EXPECT_FALSE(gate_.is_own(with(post("/pair"), "Origin", origin))) << origin;
    HttpRequest twice = post("/pair");
    twice.headers.emplace_back("Origin", "https://rebound.example");
    EXPECT_FALSE(gate_.is_own(twice));
    for (const char* site : {"cross-site", "same-site", "none", ""})
        EXPECT_FALSE(gate_.is_own(with(post("/pair"), "Sec-Fetch-Site", site))) << site;
    for (const char* method : {"PUT", "DELETE", "PATCH", "OPTIONS", "get"}) {
        HttpRequest bare = get();
        bare.method = method;
        EXPECT_FALSE(gate_.is_own(bare)) << method;
    }
}

// RFC 9525 section 6.3.
TEST(HostNameTest, StarStandsForOneLabel) {
    EXPECT_TRUE(is_for_host("hub.home.arpa", "hub.home.arpa"));
    EXPECT_FALSE(is_for_host("hub.home.arpa", "home.arpa"));
    EXPECT_TRUE(is_for_host("*.home.arpa", "hub.home.arpa"));
    EXPECT_FALSE(is_for_host("*.home.arpa", "a.hub.home.arpa"));
    EXPECT_FALSE(is_for_host("*.home.arpa", "home.arpa"));
    EXPECT_FALSE(is_for_host("*.home.arpa", ".home.arpa"));
}

}  // namespace
}  // namespace nightferry::page
