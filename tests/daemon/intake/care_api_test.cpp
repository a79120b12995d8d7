// What the local API answers about what was computed, and what it says to questions it cannot answer.
#include "daemon/intake/care_api.hpp"

#include "tests/daemon/intake/api_caller.hpp"

namespace nightferry::intake {
namespace {

using namespace std::chrono_literals;
using testing::HasSubstr;
using testing::Not;

// Juniper gets 0.18 mL at eight and at twenty from 30 October on. It is 2 November, noon.
class CareApiTest : public ApiTest {
 protected:
    CareApiTest() {
        care::Plan plan;
        plan.person = "juniper";
        const entry::Amount amount{Decimal(18, 2), entry::Unit::millilitre};
        plan.regimen.orders.push_back(
            {LocalSecond{std::chrono::local_days{std::chrono::year{2026} / 10 / 30}},
             hub_.household.zone,
             "enoxaparin-100",
             {{8h, amount}, {20h, amount}}});
        plan.sample = care::SampleWindow{};
        plans_.push_back(plan);
    }

    std::string dose(const std::string& id, const std::string& time, const std::string& ml = "0.18") {
        return hand_in(R"({"type":"dose_given","id":")" + id + R"(","person":"juniper","time":")" + time +
                       R"(","by":"marlow","medicine":"enoxaparin-100","amount":)" + ml +
                       R"(,"unit":"mL","region":"thigh","side":"left","recorded":")" + time + "\"}\n");
    }
    std::string settle(const std::string& key, const std::string& body) {
        return ask("POST", "/v1/flags/settle?key=" + percent_encode(key), body, "application/json");
    }
};

TEST_F(ApiTest, WithoutARegimenThereIsNothingToCompareWith) {
    for (const char* target : {"/v1/report", "/v1/since-dose", "/v1/flags"})
        EXPECT_THAT(get(target), HasSubstr("409 {\"error\":\"the settings give no [[regimen]]")) << target;
}

TEST_F(ApiTest, WithoutARegimenAClinicThatMeansNoClearPatientIsFlaggedAllTheSame) {
    upkeep::PatientBook patients(hub_.outbox, [](const std::string&) { return Names{"nowhere"}; });
    upkeep_.watch_patients(patients);
    const std::string head =
        R"(200 {"person":"juniper","zone":"Europe/Dublin","has_regimen":false,"flags":[)";
    EXPECT_EQ(get("/v1/flags?person=juniper"), head + "]}");
    logbook::ClinicState state;
    state.patients["juniper"].left_out_because = "the clinic deleted the patient record 'Patient/p1'";
    state.patients["juniper"].left_out_since = hub_.clock.now();
    ASSERT_TRUE(hub_.outbox.settle("nowhere", {}, state, hub_.clock.now()));
    EXPECT_THAT(get("/v1/flags?person=juniper"),
                testing::AllOf(testing::StartsWith(head + "{"),
                               HasSubstr(R"("flag":"patient_record","level":"contact")"),
                               HasSubstr("the clinic deleted the patient record 'Patient/p1'")));
    EXPECT_EQ(get("/v1/flags?person=rowan").find("patient_record"), std::string::npos);
}

TEST_F(CareApiTest, ReportHasFiguresOfTheDaysAskedFor) {
    dose("d1", "2026-10-30T08:05");
    dose("d2", "2026-10-30T20:00");
    const std::string one_day = get("/v1/report?from=2026-10-30&to=2026-10-30");
    EXPECT_THAT(one_day, HasSubstr(R"("slots_filled":{"n":2,"of":2,"percent":100.0})"));
    EXPECT_THAT(get("/v1/report?from=2026-10-30&to=2026-10-31"),
                HasSubstr(R"("slots_filled":{"n":2,"of":4,"percent":50.0})"));
}

TEST_F(CareApiTest, ReportTellsWhatWasKnownThen) {
    dose("d0", "2026-10-29T20:00");
    dose("d1", "2026-10-30T08:05");
    const std::string before = get("/v1/report?from=2026-10-30&to=2026-10-30&known_at=2026-10-30T08:04");
    EXPECT_THAT(before, HasSubstr(R"("fate":"due")"));
    EXPECT_THAT(before, Not(HasSubstr(R"("fate":"given")")));
    EXPECT_THAT(get("/v1/report?from=2026-10-30&to=2026-10-30&known_at=2026-10-30T08:05"),
                HasSubstr(R"("fate":"given")"));
}

TEST_F(CareApiTest, QuestionsThatCannotBeAnsweredAreToldWhy) {
    EXPECT_EQ(get("/v1/report?person=junipr"),
              R"(404 {"error":"no [[person]] has the key 'junipr'. Did you mean 'juniper'?"})");
    EXPECT_EQ(get("/v1/report?from=yesterday"), R"(400 {"error":"from is not a day like 2026-10-12"})");
    EXPECT_EQ(get("/v1/report?from=2026-11-02&to=2026-11-01"),
              R"(400 {"error":"from lies after to, which is today if left out"})");
    EXPECT_THAT(get("/v1/report?to=3026-11-01"), HasSubstr("400 {\"error\":\"to lies too far away;"));
    EXPECT_EQ(get("/v1/report?fromm=2026-11-01"), R"(400 {"error":"'fromm' is no parameter here"})");
    EXPECT_EQ(get("/v1/flags?all=maybe"), R"(400 {"error":"all is neither yes nor no"})");
    EXPECT_THAT(get("/v1/report?known_at=2026-11-02T12:01Z"),
                HasSubstr("400 {\"error\":\"known_at lies too far away;"));
    EXPECT_EQ(
        get("/v1/since-dose?at=2026-10-25T01:30"),
        R"(400 {"error":"at was twice, because the clocks went back; write 2026-10-25T01:30:00+01:00 or 2026-10-25T01:30:00+00:00"})");
    EXPECT_EQ(get("/v1/since-dose?at=2026-03-29T01:30"),
              R"(400 {"error":"at was never, because the clocks went forward"})");
    EXPECT_EQ(get("/v1/report?known_at=noon"),
              R"(400 {"error":"known_at is not a time like 2026-10-12T08:00, with or without its offset"})");
    EXPECT_EQ(get("/v1/since-dose?at=noon"),
              R"(400 {"error":"at is not a time like 2026-10-12T08:00, with or without its offset"})");
    EXPECT_THAT(post("/v1/report"), HasSubstr("404 "));
}

TEST_F(CareApiTest, SeveralRegimensNeedAName) {
    plans_.push_back(plans_[0]);
    plans_[1].person = "rowan";
    EXPECT_EQ(get("/v1/flags"), R"(400 {"error":"person is missing; several have a regimen"})");
    EXPECT_THAT(get("/v1/flags?person=rowan"), HasSubstr("200 "));
}

TEST_F(CareApiTest, TimeSinceTheLastDoseIsToldWithItsWindow) {
    EXPECT_EQ(
        get("/v1/since-dose?at=2026-11-02T11:00Z"),
        R"(200 {"person":"juniper","at":"2026-11-02T11:00:00Z","zone":"Europe/Dublin","window":{"from_min":240,"to_min":360},"settled":true})");
    dose("d1", "2026-11-02T08:00");
    EXPECT_THAT(get("/v1/since-dose?at=2026-11-02T11:59"), HasSubstr(R"("elapsed_min":239)"));
    EXPECT_THAT(get("/v1/since-dose?at=2026-11-02T11:59"),
                HasSubstr(R"("inside":false,"outside_by_min":-1)"));
    EXPECT_THAT(get("/v1/since-dose"), HasSubstr(R"("inside":true)"));
}

TEST_F(CareApiTest, FlagsOpenAndAreSettledByACarer) {
    dose("d1", "2026-10-31T08:00", "0.81");
    const std::string open = get("/v1/flags");
    EXPECT_THAT(open, HasSubstr(R"("flag":"amount_far_from_order","level":"contact")"));
    EXPECT_THAT(open, HasSubstr("0.81 mL (81 mg) recorded where 18 mg was ordered, 450.0 % of the order."));
    EXPECT_THAT(open,
                HasSubstr(R"("state":"open","history":[{"event":"raised","at":"2026-11-02T12:00:00Z")"));
    const std::string key = "amount_far_from_order:" + id("d1") + ":0.81mL";
    EXPECT_THAT(settle(key, "{}"), HasSubstr("400 "));
    EXPECT_THAT(settle(key, R"({"by":"stranger","reason":"Rang"})"), HasSubstr("400 "));
    EXPECT_EQ(settle(key, R"({"by":"marlow","reason":"Rang the clinic"})"),
              "200 {\"settled\":\"" + key + "\"}");
    EXPECT_EQ(settle(key, R"({"by":"marlow","reason":"Rang the clinic"})"),
              R"(404 {"error":"no flag with this key is open"})");
    EXPECT_THAT(get("/v1/flags"), Not(HasSubstr("amount_far_from_order")));
    EXPECT_THAT(
        get("/v1/flags?all=yes"),
        HasSubstr(
            R"({"event":"settled","at":"2026-11-02T12:00:00Z","level":"contact","by":"marlow","words":"Rang the clinic"})"));
    EXPECT_THAT(ask("POST", "/v1/flags/settle", "{}", "application/json"), HasSubstr("400 "));
}

TEST_F(CareApiTest, PossibleDoubleIsDecidedOnTheEntry) {
    dose("d1", "2026-10-31T08:00");
    dose("d2", "2026-10-31T08:10");
    EXPECT_THAT(get("/v1/flags"), HasSubstr(R"("flag":"possible_double")"));
    EXPECT_THAT(settle("possible_double:" + id("d2"), R"({"by":"marlow","reason":"One of them"})"),
                HasSubstr("409 {\"error\":\"this is decided on the entry itself"));
    EXPECT_THAT(get("/v1/flags"), HasSubstr(R"("flag":"possible_double")"));
}

TEST_F(CareApiTest, AmendmentClearsAFlagAndItsHistoryStays) {
    dose("d1", "2026-10-31T08:00", "0.81");
    get("/v1/flags");
    hub_.clock.move(1min);
    hand_in(
        R"({"action":"amend","type":"dose_given","id":"d1","person":"juniper","time":"2026-10-31T08:00","by":"marlow",)"
        R"("medicine":"enoxaparin-100","amount":0.18,"unit":"mL","region":"thigh","side":"left",)"
        R"("recorded":"2026-11-02T12:01","recorded_by":"marlow"})"
        "\n");
    EXPECT_THAT(get("/v1/flags"), Not(HasSubstr("amount_far_from_order")));
    EXPECT_THAT(get("/v1/flags?all=yes"), HasSubstr(R"("flag":"amount_far_from_order")"));
    EXPECT_THAT(get("/v1/flags?all=yes"), HasSubstr(R"("state":"cleared")"));
}

TEST_F(CareApiTest, SummariesAreListedOnlyOnRequest) {
    dose("d1", "2026-10-30T08:05");
    get("/v1/flags");
    EXPECT_EQ(listed("/v1/entries?summaries=yes").size(), 1U) << "they are made in a pass only";
    ASSERT_TRUE(upkeep_.catch_up(upkeep::Upkeep::Summaries::made));
    EXPECT_EQ(listed("/v1/entries").size(), 1U);
    EXPECT_EQ(listed("/v1/entries?summaries=yes").size(), 4U);  // Three days; their week had begun before.
    EXPECT_THAT(get("/v1/entries?summaries=yes"), HasSubstr(R"("type":"summary")"));
}

}  // namespace
}  // namespace nightferry::intake
