// What the local API answers, request by request.
#include "daemon/intake/api.hpp"

#include "tests/daemon/intake/api_caller.hpp"

namespace nightferry::intake {

namespace {

// As JSON writes a text.
std::string quoted(const std::string& text) {
    std::string written = "\"";
    for (const char c : text)
        written += c == '"' || c == '\\' ? std::string("\\") + c : std::string(1, c);
    return written + '"';
}

std::string error_body(const std::string& words) {
    return "{\"error\":" + quoted(words) + "}";
}

constexpr std::string_view w1_fields =
    R"("type":"weight","person":"juniper","time":"2026-10-12T08:00:00+01:00",)"
    R"("by":"marlow","kg":18.40,"how":"measured","recorded_by":"marlow")";

TEST_F(ApiTest, HandingInAnswersEveryEntryAsJson) {
    EXPECT_EQ(hand_in(weight("w1")),
              R"(200 {"accepted":1,"already_there":0,"conflict":0,"refused":0,"answers":[)"
              R"({"where":"line 1","answer":"accepted","id":")" +
                  id("w1") + R"(","revision":1}]})");
    hand_in(amended("w1", "18.6", "2026-10-12T10:00"));
    EXPECT_EQ(hand_in(amended("w1", "18.5", "2026-10-12T09:00")),
              R"(200 {"accepted":1,"already_there":0,"conflict":0,"refused":0,"answers":[)"
              R"({"where":"line 1","answer":"accepted","id":")" +
                  id("w1") + R"(","revision":3,"in_effect":false}]})");
    hand_in(retracted("w1"));
    EXPECT_EQ(hand_in(weight("w1")),
              R"(200 {"accepted":0,"already_there":1,"conflict":0,"refused":0,"answers":[)"
              R"({"where":"line 1","answer":"already_there","id":")" +
                  id("w1") + R"(","revision":1,"retracted":true}]})");
}

TEST_F(ApiTest, AnyConflictOrRefusalGives422WithItsReason) {
    hand_in(weight("w1"));
    const std::string lines = weight("w1", "18.6") + weight("w2", "0") + weight("w3");
    const Answers told = hub_.hand_in(lines);  // Whose words the API passes on.
    ASSERT_EQ(told.answers.size(), 3u);
    EXPECT_EQ(hand_in(lines),
              R"(422 {"accepted":0,"already_there":1,"conflict":1,"refused":1,"answers":[)"
              R"({"where":"line 1","answer":"conflict","id":")" +
                  id("w1") + R"(","problems":[{"where":"line 1","what":)" +
                  quoted(told.answers[0].problems.at(0).what) +
                  R"(}]},{"where":"line 2","answer":"refused","problems":[{"where":"line 2, /kg","what":)" +
                  quoted(told.answers[1].problems.at(0).what) +
                  R"(}]},{"where":"line 3","answer":"already_there","id":")" + id("w3") +
                  R"(","revision":1}]})");
    EXPECT_THAT(told.answers[0].problems.at(0).what, testing::HasSubstr(id("w1")));
}

TEST_F(ApiTest, WhatCannotBeReadGives400) {
    EXPECT_EQ(ask("POST", "/v1/entries", "", "application/json"),
              R"(400 {"accepted":0,"already_there":0,"conflict":0,"refused":0,"error":)" +
                  quoted(hub_.hand_in("", entry::Format::json).failure.value().what) + R"(,"answers":[]})");
    EXPECT_THAT(ask("POST", "/v1/entries", "type\n", "text/csv"), testing::HasSubstr(R"("error":"line 1: )"));
}

TEST_F(ApiTest, EveryFormatIsKnownByItsMediaType) {
    EXPECT_THAT(ask("POST", "/v1/entries", weight("w1"), "application/json"), testing::StartsWith("200 "));
    EXPECT_THAT(ask("POST", "/v1/entries", weight("w1") + weight("w2"), "Application/X-NDJSON"),
                testing::StartsWith("200 "));
    EXPECT_THAT(ask("POST", "/v1/entries", weight_rows({"w3,weight,juniper,2026-10-12T08:00,marlow,18.4"}),
                    "text/csv; charset=utf-8"),
                testing::StartsWith("200 "));
    EXPECT_EQ(ask("POST", "/v1/entries", weight("w4"), "text/plain"),
              "415 " + error_body("Content-Type 'text/plain' is not known; expected application/json, "
                                  "application/x-ndjson, text/csv or application/fhir+json"));
    EXPECT_EQ(hub_.entries(), 3u);
}

TEST_F(ApiTest, UnknownPathsAndMethodsGive404) {
    EXPECT_EQ(get("/"), "404 " + error_body("there is nothing at GET '/'"));
    EXPECT_EQ(get("/v2/entries?limit=1"), "404 " + error_body("there is nothing at GET '/v2/entries'"));
    EXPECT_EQ(ask("DELETE", "/v1/entries/w1"),
              "404 " + error_body("there is nothing at DELETE '/v1/entries/w1'"));
    EXPECT_EQ(get("/v1/passes"), "404 " + error_body("there is nothing at GET '/v1/passes'"));
    EXPECT_EQ(post("/v1/queue"), "404 " + error_body("there is nothing at POST '/v1/queue'"));
}

TEST_F(ApiTest, ListingIsNewestFirstAndCanBeNarrowed) {
    const auto at = [](const std::string& label, const std::string& time, const std::string& person) {
        return R"({"type":"weight","by":"tove","kg":20,"id":")" + label + R"(","time":")" + time +
               R"(","person":")" + person + "\"}\n";
    };
    hand_in(at("a", "2026-10-12T08:00", "juniper") + at("b", "2026-10-14T08:00", "rowan") +
            at("c", "2026-10-13T08:00", "juniper"));
    EXPECT_EQ(listed("/v1/entries"), (Names{id("b"), id("c"), id("a")}));
    EXPECT_EQ(listed("/v1/entries?limit=2"), (Names{id("b"), id("c")}));
    EXPECT_EQ(listed("/v1/entries?person=juniper"), (Names{id("c"), id("a")}));
    EXPECT_EQ(listed("/v1/entries?person=nobody"), Names{});
    EXPECT_EQ(listed("/v1/entries?from=2026-10-13T08:00%2B01:00&to=2026-10-14T07:00+00:00"), Names{id("c")});
}

TEST_F(ApiTest, BadLimitsTimesAndStatesGive400) {
    for (const std::string limit : {"0", "10001", "-1", "1e3", "ten", "%31x"}) {
        const std::string expected = "400 " + error_body("limit is not a whole number from 1 to 10000");
        EXPECT_EQ(get("/v1/entries?limit=" + limit), expected);
        EXPECT_EQ(get("/v1/deliveries?state=waiting&limit=" + limit), expected);
    }
    EXPECT_THAT(get("/v1/entries?limit=10000"), testing::StartsWith("200 "));
    EXPECT_EQ(
        get("/v1/entries?from=yesterday"),
        "400 " + error_body("from 'yesterday' is not a time with its offset, like 2026-10-12T08:00+01:00"));
    EXPECT_EQ(
        get("/v1/entries?to=2026-10-12T08:00"),
        "400 " +
            error_body("to '2026-10-12T08:00' is not a time with its offset, like 2026-10-12T08:00+01:00"));
    for (const std::string query : {"", "?state=", "?state=confirmed"})
        EXPECT_EQ(get("/v1/deliveries" + query),
                  "400 " + error_body("state is missing or unknown; expected waiting or set_aside"));
}

TEST_F(ApiTest, AnEntryIsShownWithItsRevisionsAndReceipts) {
    passes_.names = hub_.clinics["juniper"] = {"nowhere"};
    hand_in(weight("morning 1", "18.40"));
    settle(Settlement::Fate::confirmed);
    hub_.clock.move(std::chrono::hours(1));
    hand_in(R"({"action":"retract","id":"morning 1","recorded":"2026-10-13T08:00","recorded_by":"tove"})");
    const std::string uuid = id("morning 1");
    const std::string expected =
        R"(200 {"action":"retract","id":")" + uuid +
        R"(","type":"weight","person":"juniper","time":"2026-10-12T08:00:00+01:00","by":"marlow","kg":18.40,"how":"measured",)"
        R"("recorded":"2026-10-13T08:00:00+01:00","recorded_by":"tove","revision":2,"retracted":true,)"
        R"("deliveries":[{"clinic":"nowhere","state":"waiting","revision":2,"attempts":1,"changed":"2026-11-02T13:00:00+00:00",)"
        R"("receipts":[{"revision":1,"resource":"Observation/o7","version":"1","status":201,"received":"2026-11-02T12:00:00+00:00"}]}],)"
        R"("revisions":[{"revision":1,"accepted":"2026-11-02T12:00:00+00:00","entry":{"action":"record","id":")" +
        uuid + "\"," + std::string(w1_fields) +
        R"(}},{"revision":2,"accepted":"2026-11-02T13:00:00+00:00","entry":{"action":"retract","id":")" +
        uuid + R"(","recorded":"2026-10-13T08:00:00+01:00","recorded_by":"tove"}}]})";
    EXPECT_EQ(get("/v1/entries/morning%201"), expected);
    EXPECT_EQ(get("/v1/entries/" + uuid), expected);
    EXPECT_EQ(get("/v1/entries/urn%3Auuid%3A" + uuid), expected);
    EXPECT_EQ(get("/v1/entries/evening"),
              "404 " + error_body("no entry with the id 'evening' is in the logbook"));
}

TEST_F(ApiTest, TheQueueTellsCountsAndTheNewestPassOfEveryClinic) {
    EXPECT_EQ(get("/v1/queue"), R"(200 {"hub":"test-home","clinics":[)"
                                R"({"clinic":"nowhere","waiting":0,"set_aside":0,"confirmed":0,"closed":0,)"
                                R"("pass":{"running":false,"confirmed":0,"set_aside":0}},)"
                                R"({"clinic":"elsewhere","waiting":0,"set_aside":0,"confirmed":0,"closed":0,)"
                                R"("pass":{"running":false,"confirmed":0,"set_aside":0}}]})");
    passes_.names = {"nowhere"};
    passes_.running = "nowhere";
    hand_in(weight("w1") + weight("w2") + weight("w3"));
    hub_.clock.move(std::chrono::hours(1));
    settle(Settlement::Fate::confirmed);
    settle(Settlement::Fate::set_aside, "unknown code");
    const Instant now = hub_.clock.now();
    settle(Settlement::Fate::again, "no route",
           {2, now + std::chrono::minutes(30), now, Instant{}, {}, 1, 1, "waiting for the network"});
    EXPECT_EQ(
        get("/v1/queue"),
        R"(200 {"hub":"test-home","clinics":[{"clinic":"nowhere","waiting":1,"set_aside":1,"confirmed":1,"closed":0,)"
        R"("oldest_waiting":"2026-11-02T12:00:00+00:00","pass":{"running":true,"started":"2026-11-02T13:00:00+00:00",)"
        R"("confirmed":1,"set_aside":1,"words":"waiting for the network","failures":2,)"
        R"("next_attempt":"2026-11-02T13:30:00+00:00"}}]})");
}

TEST_F(ApiTest, DeliveriesListWhatWaitsAndWhatWasSetAside) {
    hand_in(weight("w1", "18.40") + weight("w2") + weight("w3"));
    settle(Settlement::Fate::set_aside, "unknown code");
    settle(Settlement::Fate::confirmed);
    EXPECT_EQ(
        get("/v1/deliveries?state=set_aside&clinic=nowhere"),
        R"(200 {"entries":[{"action":"record","id":")" + id("w1") + "\"," + std::string(w1_fields) +
            R"(,"revision":1,"retracted":false,"deliveries":[)"
            R"({"clinic":"elsewhere","state":"waiting","revision":1,"attempts":0,"changed":"2026-11-02T12:00:00+00:00"},)"
            R"({"clinic":"nowhere","state":"set_aside","revision":1,"attempts":1,"changed":"2026-11-02T12:00:00+00:00",)"
            R"("words":"unknown code"}]}]})");
    ASSERT_TRUE(hub_.outbox.take("nowhere", {.limit = 1}, hub_.clock.now()));  // Under way counts as waiting.
    EXPECT_EQ(listed("/v1/deliveries?state=waiting&clinic=nowhere"), Names{id("w3")});
    EXPECT_EQ(listed("/v1/deliveries?state=waiting&clinic=elsewhere&limit=2"), (Names{id("w1"), id("w2")}));
}

TEST_F(ApiTest, ReleasingSendsWhatWasSetAsideOnceMore) {
    hand_in(weight("w1") + weight("w2") + weight("w3"));
    for (int i = 0; i < 3; ++i)
        settle(Settlement::Fate::set_aside, "unknown code");
    EXPECT_EQ(post("/v1/deliveries/release?clinic=elsewhere"), R"(200 {"released":0})");
    EXPECT_EQ(post("/v1/deliveries/release?clinic=nowhere&entry=w2"), R"(200 {"released":1})");
    EXPECT_EQ(post("/v1/deliveries/release?entry=w2"),
              R"(404 {"error":"no entry with the id 'w2' is set aside"})");
    EXPECT_EQ(post("/v1/deliveries/release?entry=" + id("w3")), R"(200 {"released":1})");
    EXPECT_EQ(listed("/v1/deliveries?state=set_aside"), Names{id("w1")});
    EXPECT_EQ(post("/v1/deliveries/release"), R"(200 {"released":1})");
    EXPECT_EQ(listed("/v1/deliveries?state=waiting&clinic=nowhere"), (Names{id("w1"), id("w2"), id("w3")}));
}

TEST_F(ApiTest, SettlingClosesWhatWasSetAsideAndShowsWhoWhenAndWhy) {
    hand_in(weight("w1", "18.40") + weight("w2"));
    settle(Settlement::Fate::set_aside, "changed there");
    hub_.clock.move(std::chrono::hours(1));
    EXPECT_EQ(close("?clinic=nowhere&entry=w1", R"({"by":"tove","reason":"They keep theirs."})"),
              R"(200 {"settled":")" + id("w1") + "\"}");
    EXPECT_EQ(listed("/v1/deliveries?state=set_aside"), Names{});
    EXPECT_NE(
        get("/v1/queue").find(R"({"clinic":"nowhere","waiting":1,"set_aside":0,"confirmed":0,"closed":1,)"),
        std::string::npos);
    EXPECT_NE(
        get("/v1/entries/w1")
            .find(
                R"({"clinic":"nowhere","state":"closed","revision":1,"attempts":1,"changed":"2026-11-02T13:00:00+00:00",)"
                R"("words":"changed there","closings":[{"revision":1,"closed":"2026-11-02T13:00:00+00:00",)"
                R"("by":"tove","reason":"They keep theirs."}]})"),
        std::string::npos)
        << get("/v1/entries/w1");
    EXPECT_EQ(post("/v1/deliveries/release?entry=w1"),
              R"(404 {"error":"no entry with the id 'w1' is set aside"})");
}

TEST_F(ApiTest, SettlingNeedsAClinicAnEntrySetAsideACarerAndAReason) {
    hand_in(weight("w1") + weight("w2"));
    settle(Settlement::Fate::set_aside, "changed there");
    const std::string w1 = "?clinic=nowhere&entry=w1";
    const std::string good = R"({"by":"tove","reason":"phoned"})";
    const std::vector<std::tuple<std::string, std::string, std::string>> all{
        {"?entry=w1", good, "400 clinic is missing; expected the clinic with which it was settled"},
        {"?clinic=nowhere", good, "400 entry is missing; expected the id of what was settled"},
        {"?clinic=nowere&entry=w1", good,
         "404 no clinic 'nowere' is in the settings. Did you mean 'nowhere'?"},
        {"?clinic=nowhere&entry=w2", good,
         "404 no entry with the id 'w2' is set aside for the clinic 'nowhere'"},
        {"?clinic=elsewhere&entry=w1", good,
         "404 no entry with the id 'w1' is set aside for the clinic 'elsewhere'"},
        {w1, R"({"by":"tovee","reason":"phoned"})",
         "400 'tovee' is not a carer this hub knows; its settings name marlow, tove and self. Did you mean "
         "'tove'?"},
        {w1, "{}",
         "400 'by' is missing; expected the carer who decided it; 'reason' is missing; "
         "expected why, or how it was settled"},
        {w1, R"({"by":"tove","reason":"  "})", "400 'reason' is empty; expected why, or how it was settled"},
        {w1, "[" + good + "," + good + "]", "400 expected one object with by and reason, not a list"},
        {w1, "", "400 expected an object with by and reason: it is empty; there is nothing to record"},
    };
    for (const auto& [query, body, expected] : all) {
        const std::string answer = close(query, body);
        EXPECT_EQ(answer, expected.substr(0, 4) + error_body(expected.substr(4)));
    }
    const std::string answer = close(w1, R"({"by":"tove","reason":"phoned","kg":1})");
    EXPECT_TRUE(answer.starts_with("400 ")) << answer;
    EXPECT_EQ(listed("/v1/deliveries?state=set_aside"), Names{id("w1")}) << "nothing was closed";
}

TEST_F(ApiTest, PassesAreStartedAtOneClinicOrAtAll) {
    EXPECT_EQ(post("/v1/passes?clinic=elsewhere"), R"(202 {"started":["elsewhere"]})");
    EXPECT_EQ(passes_.started, Names{"elsewhere"});
    EXPECT_EQ(post("/v1/passes"), R"(202 {"started":["nowhere","elsewhere"]})");
    EXPECT_EQ(passes_.started, (Names{"elsewhere", "nowhere", "elsewhere"}));
}

TEST_F(ApiTest, UnknownClinicGives404WithTheNearestName) {
    const std::string expected =
        "404 " + error_body("no clinic 'nowere' is in the settings. Did you mean 'nowhere'?");
    EXPECT_EQ(post("/v1/passes?clinic=nowere"), expected);
    EXPECT_EQ(post("/v1/deliveries/release?clinic=nowere"), expected);
    EXPECT_EQ(get("/v1/deliveries?state=waiting&clinic=nowere"), expected);
    EXPECT_EQ(passes_.started, Names{});
}

TEST_F(ApiTest, WithoutAnyClinicEntriesAreTakenAndPassesGive409) {
    passes_.names = hub_.clinics["juniper"] = {};
    EXPECT_THAT(hand_in(weight("w1")), testing::StartsWith("200 "));
    EXPECT_EQ(get("/v1/queue"), R"(200 {"hub":"test-home","clinics":[]})");
    EXPECT_EQ(post("/v1/passes"),
              "409 " + error_body("the settings name no clinic; entries are kept until one is set up"));
}

TEST_F(ApiTest, AFullDiskGives507AndTheHubGoesOn) {
    const std::string lines =
        weight("w1", "18.4", R"("note":")" + std::string(2000, 'n') + '"') + weight("w2");
    hub_.fill_disk();
    const auto told = hub_.desk.hand_in(lines, entry::Format::ndjson, "local");
    ASSERT_FALSE(told);
    EXPECT_EQ(hand_in(lines), "507 " + error_body(told.error().detail + "; nothing was accepted"));
    EXPECT_EQ(hub_.entries(), 0u);
    EXPECT_EQ(api_.failed(), std::nullopt);
}

TEST_F(ApiTest, AFailingLogbookGives500AndIsRememberedForTheCaller) {
    hand_in(weight("w1"));
    EXPECT_EQ(api_.failed(), std::nullopt);
    ASSERT_TRUE(hub_.db->run("DROP TABLE receipts; DROP TABLE deliveries"));
    EXPECT_THAT(get("/v1/entries/w1"), testing::StartsWith("500 {\"error\":\"the logbook's disk failed: "));
    ASSERT_TRUE(api_.failed().has_value());
    EXPECT_EQ(api_.failed()->code, Errc::storage);
}

}  // namespace

}  // namespace nightferry::intake
