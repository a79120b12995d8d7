// What those get who ask for the page.
#include "daemon/page/entrance.hpp"

#include "tests/daemon/page/let_in.hpp"

namespace nightferry::page {
namespace {

using testing::IsEmpty;
using testing::StartsWith;

class EntranceTest : public LetInTest {
 protected:
    // "200 inside for tove".
    std::string ask(const HttpRequest& request) {
        answer_ = entrance_.answer(request);
        EXPECT_EQ(header(answer_.headers, "Cache-Control"), "no-store");
        return std::to_string(answer_.status) + " " + answer_.body.substr(0, answer_.body.find('\n'));
    }
    std::string type(const std::string& letters) { return ask(post("/pair", "code=" + letters)); }

    HttpAnswer answer_;
    static HttpAnswer plain(int status, const std::string& words) {
        return {status, {{"Cache-Control", "no-store"}}, words + "\n"};
    }
    static std::string_view words_for(Outside why) {
        constexpr std::array<std::string_view, 6> words{"not paired",    "wrong code", "locked",
                                                        "not from here", "no room",    "failed"};
        return words[static_cast<std::size_t>(why)];
    }
    Entrance entrance_{
        gate_,
        hub_.clock,
        {[](const HttpRequest&, const Device& device) { return plain(200, "inside for " + device.carer); },
         [](int status, Outside why) { return plain(status, std::string(words_for(why))); },
         [](const HttpRequest& request) {
             return request.target == "/page.css" ? std::optional(plain(200, "css")) : std::nullopt;
         }}};
};

TEST_F(EntranceTest, WhoHasTheCodeIsLetInFromThenOn) {
    EXPECT_EQ(ask(get()), "401 not paired");
    EXPECT_EQ(type(code()), "303 ");
    EXPECT_EQ(header(answer_.headers, "Location"), "/");
    const std::string cookie(header(answer_.headers, "Set-Cookie"));
    EXPECT_THAT(cookie, StartsWith("__Host-nightferry="));
    EXPECT_EQ(ask(get(cookie.substr(0, cookie.find(';')))), "200 inside for tove");
}

TEST_F(EntranceTest, WhatEveryPageIsMadeWithIsForEverybodyWhoAsksUnderTheRightName) {
    HttpRequest style = get();
    style.target = "/page.css";
    EXPECT_EQ(ask(style), "200 css");
    HttpRequest rebound = get({}, "rebound.example");
    rebound.target = "/page.css";
    EXPECT_EQ(ask(rebound), "403 not from here");
}

TEST_F(EntranceTest, CodeIsReadFromTheFormAsBrowsersSendIt) {
    std::string letters = code();
    EXPECT_EQ(type("+" + letters.substr(0, 4) + "+%2D" + letters.substr(4) + "&x=y"), "303 ");
}

TEST_F(EntranceTest, WhoGuessesLearnsNothingButThatItWasWrong) {
    EXPECT_EQ(type("CCCCCCCC"), "403 wrong code");
    EXPECT_EQ(type(""), "403 wrong code");
    EXPECT_EQ(ask(post("/pair", "")), "403 wrong code");
    type("CCCCCCCC");
    type("CCCCCCCC");
    EXPECT_EQ(type("CCCCCCCC"), "429 locked");
    EXPECT_THAT(header(answer_.headers, "Set-Cookie"), IsEmpty());
}

TEST_F(EntranceTest, OtherSitesGetNothingWhateverTheyShow) {
    const std::string cookie = paired_cookie();
    EXPECT_EQ(ask(get(cookie, "rebound.example")), "403 not from here");
    EXPECT_EQ(ask(with(post("/pair", "code=" + code()), "Origin", "https://rebound.example")),
              "403 not from here");
    EXPECT_THAT(hub_.log.lines, testing::SizeIs(1)) << "it was no try";
}

TEST_F(EntranceTest, LogbookThatFailsIsToldWithoutAWordOfIt) {
    const std::string cookie = paired_cookie();
    const std::string letters = code();
    ASSERT_TRUE(hub_.db->run("DROP TABLE devices"));
    EXPECT_EQ(type(letters), "500 failed");
    EXPECT_EQ(ask(get(cookie)), "500 failed");
}

}  // namespace
}  // namespace nightferry::page
