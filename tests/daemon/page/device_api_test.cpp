// What the local API tells of phones, and whom it lets decide.
#include "daemon/page/device_api.hpp"

#include "tests/daemon/page/let_in.hpp"

namespace nightferry::page {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::StartsWith;

class DeviceApiTest : public LetInTest {
 protected:
    std::string ask(const std::string& method, const std::string& target) {
        EXPECT_TRUE(DeviceApi::is_for(path_of(target)));
        const auto answer = api_.answer({method, target, {}, {}});
        EXPECT_TRUE(answer.has_value());
        return std::to_string(answer->status) + " " + answer->body.substr(0, answer->body.size() - 1);
    }
    Result<DeviceApi::Invitation> invite(const std::string& carer, const std::string& name) {
        if (!not_served_because_.empty()) return Error{Errc::setup, not_served_because_};
        auto made = pairing_.invite(carer, name, hub_.clock.now());
        if (!made) return made.error();
        return DeviceApi::Invitation{std::move(*made), gate_.addresses()};
    }

    std::string not_served_because_;
    std::vector<std::string> revoked_;
    DeviceApi api_{hub_.household,
                   shelf_,
                   hub_.clock,
                   {[this](const std::string& carer, const std::string& name) { return invite(carer, name); },
                    [this](const std::string& id) { revoked_.push_back(id); }}};
};

TEST_F(DeviceApiTest, CodeIsToldWithWhereToTypeItAndHowLongItLasts) {
    EXPECT_EQ(ask("POST", "/v1/devices?carer=tove&name=Tove%27s%20phone"),
              R"(200 {"code":"CDFG-HJKM","good_until":"2026-11-02T12:10:00+00:00","addresses":[)"
              R"("https://hub.home.arpa:8443","https://192.168.1.10:8443","https://[fd00::10]:8443"]})");
    EXPECT_EQ(gate_.pair("CDFGHJKM", hub_.clock.now())->device.name, "Tove's phone");
}

TEST_F(DeviceApiTest, CodeIsForCarersAndForPhonesWithAName) {
    EXPECT_EQ(ask("POST", "/v1/devices?carer=nobody&name=x"),
              R"(400 {"error":"carer 'nobody' is no carer's key; expected whose phone it is"})");
    for (const std::string& name :
         {std::string(), std::string("%20"), std::string("a%0Ab"), std::string("%FF"), std::string(61, 'a')})
        EXPECT_THAT(ask("POST", "/v1/devices?carer=tove&name=" + name), StartsWith("400 ")) << name;
    EXPECT_THAT(ask("POST", "/v1/devices?carer=tove&name=" + std::string(60, 'a')), StartsWith("200 "));
    EXPECT_THAT(ask("POST", "/v1/devices"), StartsWith("400 "));
}

TEST_F(DeviceApiTest, WithoutAPageThereIsNoCode) {
    not_served_because_ = "the settings have no [page]";
    EXPECT_EQ(ask("POST", "/v1/devices?carer=tove&name=x"), R"(409 {"error":"the settings have no [page]"})");
}

TEST_F(DeviceApiTest, ListTellsEverythingButTheToken) {
    EXPECT_EQ(ask("GET", "/v1/devices"), R"(200 {"devices":[]})");
    const std::string cookie = paired_cookie();
    const Device device = *gate_.who(get(cookie));
    EXPECT_EQ(ask("GET", "/v1/devices"),
              R"(200 {"devices":[{"id":")" + device.id +
                  R"(","name":"Tove's phone","carer":"tove",)"
                  R"("carer_in_settings":true,"paired":"2026-11-02T12:00:00+00:00",)"
                  R"("last_used":"2026-11-02"}]})");
}

TEST_F(DeviceApiTest, UnpairedPhoneIsNotLetInAndListedAsSuch) {
    const std::string cookie = paired_cookie();
    const std::string id = gate_.who(get(cookie))->id;
    EXPECT_THAT(ask("DELETE", "/v1/devices/" + id), StartsWith("400 {\"error\":\"by '' is no carer's key"));
    EXPECT_THAT(ask("DELETE", "/v1/devices/" + id + "?by=nobody"), StartsWith("400 "));
    EXPECT_EQ(who(get(cookie)), "tove");
    EXPECT_EQ(ask("DELETE", "/v1/devices/" + id + "?by=marlow"), R"(200 {"unpaired":")" + id + "\"}");
    EXPECT_EQ(who(get(cookie)), "");
    EXPECT_THAT(ask("GET", "/v1/devices"), HasSubstr(R"("unpaired":"2026-11-02T12:00:00+00:00")"));
    EXPECT_THAT(revoked_, ElementsAre(id));
}

TEST_F(DeviceApiTest, WhatIsNotThereIsTold) {
    EXPECT_EQ(ask("DELETE", "/v1/devices/nobody?by=marlow"),
              R"(404 {"error":"no phone has the id 'nobody'; nightferry devices lists them"})");
    EXPECT_THAT(ask("PUT", "/v1/devices"), StartsWith("404 "));
    EXPECT_THAT(ask("GET", "/v1/devices/x"), StartsWith("404 "));
    EXPECT_THAT(ask("DELETE", "/v1/devices"), StartsWith("404 "));
    EXPECT_THAT(revoked_, IsEmpty());
    EXPECT_FALSE(DeviceApi::is_for("/v1/devicesx"));
}

TEST_F(DeviceApiTest, LogbookThatFailsIsAnError) {
    ASSERT_TRUE(hub_.db->run("DROP TABLE devices"));
    EXPECT_FALSE(api_.answer({"GET", "/v1/devices", {}, {}}));
    EXPECT_FALSE(api_.answer({"DELETE", "/v1/devices/x?by=tove", {}, {}}));
}

}  // namespace
}  // namespace nightferry::page
