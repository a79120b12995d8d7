// By how much the hub's clock differs from the clinic's, as the dates of its answers show.
#include "tests/daemon/sync/asked.hpp"

namespace nightferry::sync {

namespace {

using namespace std::chrono_literals;
using namespace test;

// "Mon, 02 Nov 2026 12:00:00 GMT", the preferred form of RFC 9110 section 5.6.7. Days of the week are not
// read.
std::string http_date(Instant at) {
    const std::string iso = to_text(Zone::find("UTC")->at(std::chrono::floor<std::chrono::seconds>(at)));
    return "Mon, " + iso.substr(8, 2) + " Nov " + iso.substr(0, 4) + " " + iso.substr(11, 8) + " GMT";
}

HttpAnswer dated(HttpAnswer answer, Instant at) {
    answer.headers.emplace_back("Date", http_date(at));
    return answer;
}

// The skew after an answer that was under way this long and bears this date, counted from its sending.
std::chrono::microseconds skew(std::chrono::seconds date, std::chrono::seconds under_way = 0s) {
    Script script;
    script.plays_preliminaries = false;
    script.request_pass();
    const Instant sent = script.now;
    script.now += under_way;
    script.answer(dated(script.statement, sent + date));
    script.plays_preliminaries = true;
    script.give_back({});
    script.give({});
    return script.settles().state.skew;
}

TEST(MachineClockTest, ClocksThatAgreeDoNotDiffer) {
    EXPECT_EQ(skew(0s), 0s);
    EXPECT_EQ(skew(-1s), 0s) << "dates have whole seconds";
}

TEST(MachineClockTest, ClinicsClockMayBeAheadOrBehind) {
    EXPECT_EQ(skew(600s), 600s);
    EXPECT_EQ(skew(-600s), -600s);
}

TEST(MachineClockTest, WhenOnTheWayTheAnswerWasWrittenNobodyKnows) {
    EXPECT_EQ(skew(0s, 240s), 0s);
    EXPECT_EQ(skew(120s, 240s), 0s);
    EXPECT_EQ(skew(240s, 240s), 0s);
    EXPECT_EQ(skew(300s, 240s), 60s) << "later than its arrival";
    EXPECT_EQ(skew(-60s, 240s), -60s) << "earlier than its sending";
}

// Whether the machine doubts the hub's clock when it takes.
bool in_doubt_at(std::chrono::seconds date) {
    Script script;
    script.statement = dated(script.statement, script.now + date);
    script.request_pass();
    return script.take().clock_in_doubt;
}

TEST(MachineClockTest, MoreThanFiveMinutesAreInDoubt) {
    EXPECT_FALSE(in_doubt_at(0s));
    EXPECT_FALSE(in_doubt_at(5min));
    EXPECT_FALSE(in_doubt_at(-5min));
    EXPECT_TRUE(in_doubt_at(5min + 1s));
    EXPECT_TRUE(in_doubt_at(-5min - 1s));
}

TEST(MachineClockTest, DoubtOutlastsAnswersWithoutADate) {
    Script script;
    Clinic clinic;
    script.statement = dated(script.statement, script.now + 1h);
    script.request_pass();
    EXPECT_TRUE(script.take().clock_in_doubt);
    script.give({parcel(a_weight("w1"))});
    script.answer(clinic.answer(script.sends()));
    EXPECT_EQ(script.settles().state.skew, 1h);
    EXPECT_TRUE(script.take().clock_in_doubt);
}

TEST(MachineClockTest, DoubtEndsWithAnAnswerThatAgrees) {
    Script script;
    Clinic clinic;
    script.statement = dated(script.statement, script.now + 1h);
    script.request_pass();
    script.give({parcel(a_weight("w1"))});
    script.answer(dated(clinic.answer(script.sends()), script.now));
    EXPECT_EQ(script.settles().state.skew, 0s);
    EXPECT_FALSE(script.take().clock_in_doubt);
}

TEST(MachineClockTest, DoubtOfAnEarlierPassHoldsUntilTheClinicIsHeard) {
    logbook::ClinicState state;
    state.skew = -1h;
    Script script({}, state);
    script.request_pass();
    EXPECT_TRUE(script.take().clock_in_doubt);
}

TEST(MachineClockTest, RefusalsHaveDatesToo) {
    Script script;
    script.send_first({parcel(a_weight("w1"))});
    script.answer(dated({503, {}, ""}, script.now + 1h));
    EXPECT_EQ(script.settles().state.skew, 1h);
}

}  // namespace

}  // namespace nightferry::sync
