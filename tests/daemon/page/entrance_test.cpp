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
    Entrance entrance_{gate_, hub_.clock, [](const HttpRequest&, const Device& device) {
                           return plain_text(200, "inside for " + device.carer);
                       }};
};

TEST_F(EntranceTest, WhoHasTheCodeIsLetInFromThenOn) {
    EXPECT_EQ(ask(get()), "401 this device is not paired");
    EXPECT_EQ(type(code()), "303 paired");
    EXPECT_EQ(header(answer_.headers, "Location"), "/");
    const std::string cookie(header(answer_.headers, "Set-Cookie"));
    EXPECT_THAT(cookie, StartsWith("__Host-nightferry="));
    EXPECT_EQ(ask(get(cookie.substr(0, cookie.find(';')))), "200 inside for tove");
}

TEST_F(EntranceTest, CodeIsReadFromTheFormAsBrowsersSendIt) {
    std::string letters = code();
    EXPECT_EQ(type("+" + letters.substr(0, 4) + "+%2D" + letters.substr(4) + "&x=y"), "303 paired");
}

TEST_F(EntranceTest, WhoGuessesLearnsNothingButThatItWasWrong) {
    EXPECT_EQ(type("CCCCCCCC"), "403 this code is not good, or not any more");
    EXPECT_EQ(type(""), "403 this code is not good, or not any more");
    EXPECT_EQ(ask(post("/pair", "")), "403 this code is not good, or not any more");
    type("CCCCCCCC");
    type("CCCCCCCC");
    EXPECT_EQ(type("CCCCCCCC"), "429 no code is taken for a while");
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
    EXPECT_EQ(type(letters), "500 the hub has to start again");
    EXPECT_EQ(ask(get(cookie)), "500 the hub has to start again");
}

}  // namespace
}  // namespace nightferry::page
