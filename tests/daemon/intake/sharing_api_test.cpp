// What the local API tells of what leaves, has left and may not leave any more.
#include "daemon/intake/sharing_api.hpp"

#include "fhir/json/reader.hpp"
#include "tests/daemon/intake/api_caller.hpp"

namespace nightferry::intake {

namespace json = fhir::json;

namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::Not;
using testing::StartsWith;

class SharingApiTest : public ApiTest {
 protected:
    SharingApiTest() {
        passes_.names = {"nowhere"};
        hub_.clinics["juniper"] = {"nowhere"};
        terms_.persons = {"juniper"};
        share();
    }
    void share() {
        hub_.clock.move(std::chrono::minutes{1});
        ASSERT_TRUE(hub_.book.share("nowhere", entry::SharingPolicy(terms_), hub_.clock.now()));
        hub_.clock.move(std::chrono::minutes{1});
    }

    entry::SharingTerms terms_;
    const std::string noted_ = weight("w1", "18.4", R"("note":"cried a little")");
};

TEST_F(SharingApiTest, PreviewTellsPolicyAndEntriesAndChangesNothing) {
    hand_in(noted_);
    const std::string told = get("/v1/sharing");
    EXPECT_THAT(told,
                AllOf(StartsWith(R"(200 {"clinics":[{"clinic":"nowhere","policy":{"persons":["juniper"],)"),
                      HasSubstr(R"("notes":true)"), HasSubstr(R"("waiting":1,"entries":[{)"),
                      HasSubstr(R"("resource":"Observation")"),
                      HasSubstr(R"("free_texts":[{"field":"note","text":"cried a little"}])"),
                      Not(HasSubstr("bundle"))));
    EXPECT_EQ(hub_.deliveries("w1"), Names{"nowhere wants 1, waiting"});
}

TEST_F(SharingApiTest, PreviewShowsTheBundleOnRequest) {
    hand_in(noted_);
    EXPECT_THAT(get("/v1/sharing?clinic=nowhere&fhir=yes"),
                AllOf(HasSubstr(R"("bundle":{"resourceType":"Bundle","type":"transaction","entry":[{)"),
                      HasSubstr(R"("subject":{"reference":"Patient/p1"})")));
}

TEST_F(SharingApiTest, TextsThatStayHereAreNamedAndNotShown) {
    terms_.notes = false;
    share();
    hand_in(noted_);
    const std::string told = get("/v1/sharing?fhir=yes");
    EXPECT_THAT(told, HasSubstr(R"("left_out":["note"])"));
    EXPECT_THAT(told, Not(HasSubstr("cried")));
}

TEST_F(SharingApiTest, BackDatingIsShownBeforeAndDoneOnRequest) {
    terms_.kinds = {entry::Kind::finding};
    share();
    hand_in(noted_);
    terms_.kinds = {entry::Kind::weight};
    share();
    EXPECT_THAT(get("/v1/sharing"), HasSubstr(R"("waiting":0,"entries":[])"));
    EXPECT_THAT(
        get("/v1/sharing?back_to=2026-10-12"),
        AllOf(HasSubstr(R"("waiting":0,"back_dated":1,"entries":[{)"), HasSubstr(R"("back_dated":true)")));
    EXPECT_THAT(get("/v1/sharing?back_to=2026-10-13"), HasSubstr(R"("back_dated":0,"entries":[])"));
    EXPECT_TRUE(hub_.deliveries("w1").empty());
    EXPECT_EQ(post("/v1/sharing/back-date?clinic=nowhere&to=2026-10-12&by=marlow"),
              R"(200 {"clinic":"nowhere","owed":1})");
    EXPECT_EQ(hub_.deliveries("w1"), Names{"nowhere wants 1, waiting"});
    EXPECT_EQ(owed_, Names{"nowhere"});
}

TEST_F(SharingApiTest, WhatIsThereAndNotSharedAnyMoreIsListedWithItsReference) {
    hand_in(noted_);
    settle(Settlement::Fate::confirmed);
    EXPECT_EQ(get("/v1/sharing/withdrawn"),
              R"(200 {"clinics":[{"clinic":"nowhere","in_settings":true,"entries":[]}]})");
    terms_.kinds = {entry::Kind::finding};
    share();
    EXPECT_THAT(
        get("/v1/sharing/withdrawn?clinic=nowhere"),
        AllOf(
            HasSubstr(R"("resource":"Observation/o7","version":"1")"),
            HasSubstr(R"("withheld_because":"entries of the kind weight are not shared with this clinic")")));
    ASSERT_TRUE(hub_.book.share_only_with({}, hub_.clock.now()));
    passes_.names.clear();
    EXPECT_THAT(get("/v1/sharing/withdrawn"), HasSubstr(R"("in_settings":false,"entries":[{)"));
}

// Why it was not given, and why the clinic is not to have that, are two things.
TEST_F(SharingApiTest, DoseNotGivenIsListedInJsonThatCanBeRead) {
    hand_in(
        R"({"type":"dose_not_given","id":"h1","person":"juniper","time":"2026-10-12T08:00","by":"marlow",)"
        R"("medicine":"enoxaparin-100","why":"forgot"})"
        "\n");
    settle(Settlement::Fate::confirmed);
    terms_.kinds = {entry::Kind::finding};
    share();
    const auto document = fhir::json::read(get("/v1/sharing/withdrawn").substr(4));
    ASSERT_TRUE(document) << "no name twice";
    const json::Value& entry = document->root().find("clinics")->front().find("entries")->front();
    EXPECT_EQ(entry.string_at("why"), "forgot");
    EXPECT_EQ(entry.string_at("withheld_because"),
              "entries of the kind dose_not_given are not shared with this clinic");
}

TEST_F(SharingApiTest, AuditComesInPages) {
    hand_in(noted_);
    const std::string all = get("/v1/audit");
    EXPECT_THAT(all,
                AllOf(StartsWith(R"(200 {"rows":[{"number":1,"at_us":)"), HasSubstr(R"("event":"policy")"),
                      HasSubstr(R"("number":2,)"), HasSubstr(R"("event":"accepted","clinic":"","entry":")"),
                      Not(HasSubstr("cried"))));
    EXPECT_THAT(get("/v1/audit?after=1&limit=1"), StartsWith(R"(200 {"rows":[{"number":2,)"));
    EXPECT_EQ(get("/v1/audit?after=2"), R"(200 {"rows":[]})");
}

TEST_F(SharingApiTest, RefusalsSayWhatToDo) {
    for (const auto& [target, words] : std::map<std::string, std::string>{
             {"/v1/sharing?clinic=nowere",
              "404 {\"error\":\"no clinic 'nowere' is in the settings. Did you mean "
              "'nowhere'?\"}"},
             {"/v1/sharing?person=robin", "404 {\"error\":\"no [[person]] has the key 'robin'\"}"},
             {"/v1/sharing?limit=0", "400 {\"error\":\"limit is not a whole number from 1 to 10000\"}"},
             {"/v1/sharing?back_to=October",
              "400 {\"error\":\"back_to 'October' is not a day; write it like 2026-10-12\"}"},
             {"/v1/sharing/withdrawn?clinic=south",
              "404 {\"error\":\"this hub never shared anything with a clinic 'south'\"}"},
             {"/v1/audit?after=one", "400 {\"error\":\"after is not the number of a row\"}"}})
        EXPECT_EQ(get(target), words);
    EXPECT_EQ(post("/v1/sharing/back-date?to=2026-10-12&by=marlow"),
              "400 {\"error\":\"clinic is missing; expected the clinic that is to get more\"}");
    EXPECT_EQ(post("/v1/sharing/back-date?clinic=nowhere&to=2026-10-12&by=robin"),
              "400 {\"error\":\"by 'robin' is no carer's key; expected who decided it\"}");
    EXPECT_EQ(post("/v1/sharing/back-date?clinic=nowhere&by=marlow"),
              "400 {\"error\":\"to '' is not a day; write it like 2026-10-12\"}");
    EXPECT_THAT(ask("DELETE", "/v1/audit"), StartsWith("404 "));
}

}  // namespace

}  // namespace nightferry::intake
