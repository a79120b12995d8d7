// Where a request that was given up and arrives late could do harm, the machine waits until it can no longer.
#include "tests/daemon/sync/asked.hpp"

namespace nightferry::sync {

namespace {

using namespace std::chrono_literals;
using namespace test;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::StartsWith;
using Reached = NoAnswer::Reached;

std::vector<logbook::Parcel> unanswered() {
    auto parcels = weights(1);
    parcels[0].outcome_unknown = true;
    parcels[0].attempts = 2;
    return parcels;
}

// A late create would put the entry there a second time.
const sim::Dialect careless = [] {
    sim::Dialect dialect = sim::no_conditional_create();
    dialect.does.update_create = dialect.claims.update_create = false;
    return dialect;
}();

// Lets the quiet time go by; what was in doubt is taken out again after it.
void keep_quiet(DialectScript& script) {
    script.request_pass();
    script.give(unanswered());
    script.settles();
    script.ring();
    script.give(unanswered());
}

// A machine that was just started does not know when it was sent.
TEST(MachineQuietTest, WhatMayStillArriveIsLeftAloneUntilItNoLongerCan) {
    DialectScript script(careless);
    script.request_pass();
    script.takes();
    script.give(unanswered());
    const Settle settle = script.settles();
    EXPECT_THAT(told(settle), ElementsAre("again"));
    EXPECT_THAT(settle.settlements.at(0).words, HasSubstr("may still be on its way"));
    EXPECT_EQ(script.waits(), Policy{}.quiet);
    script.ring();
    script.takes();
    script.give(unanswered());
    EXPECT_EQ(asked(script.sends()), "search Observation");
}

TEST(MachineQuietTest, WhatWasTakenOutWithItWaitsToo) {
    DialectScript script(careless);
    script.request_pass();
    auto parcels = unanswered();
    parcels.push_back(parcel(a_weight("sure")));
    script.give(parcels);
    EXPECT_THAT(told(script.settles()), ElementsAre("again", "again"));
}

TEST(MachineQuietTest, WhereConditionsAreClaimedNothingWaits) {
    DialectScript script(sim::thorough());
    script.request_pass();
    script.give(unanswered());
    EXPECT_EQ(asked(script.sends()), "search Observation");
}

TEST(MachineQuietTest, ServerThatSaysNothingMayHeedNoConditions) {
    DialectScript script(sim::no_metadata());
    script.request_pass();
    script.give(unanswered());
    script.settles();
    EXPECT_EQ(script.waits(), Policy{}.quiet);
}

// A search may not know yet of what has just arrived, or find nothing ever.
TEST(MachineQuietTest, WhatMayBeUnderAnIdOfOursIsReadThere) {
    DialectScript script(sim::no_conditional_create());
    const std::string place = "Observation/" + id_of("w0").to_string();
    script.request_pass();
    script.give(unanswered());
    script.settles();
    script.ring();
    script.requests.clear();
    script.give(unanswered());
    script.play_on();
    EXPECT_THAT(asked(script.requests),
                ElementsAre("read " + place, "search Observation", "transaction of 2"));
    script.fates.clear();
    EXPECT_THAT(script.send(unanswered()), ElementsAre("read " + place));
    EXPECT_THAT(script.fate("w0"), StartsWith("confirmed"));
}

TEST(MachineQuietTest, WhatWasNeverSentNeedNotWait) {
    DialectScript script(careless);
    script.request_pass();
    script.give(weights(1));
    EXPECT_EQ(asked(script.sends()), "search Observation");
}

TEST(MachineQuietTest, RequestOfAPersonDoesNotSkipTheQuietTime) {
    DialectScript script(careless);
    script.request_pass();
    script.give(unanswered());
    script.settles();
    ASSERT_TRUE(script.wants<Wait>());
    script.now += 1min;
    script.request_pass(true);
    script.give(unanswered());
    EXPECT_THAT(told(script.settles()), ElementsAre("again"));
    EXPECT_EQ(script.waits(), Policy{}.quiet);
}

TEST(MachineQuietTest, OneQuietTimeIsEnoughForAllThatWasSentBefore) {
    DialectScript script(careless);
    keep_quiet(script);
    script.play_on();
    EXPECT_THAT(script.fate("w0"), StartsWith("confirmed"));
    script.fates.clear();
    script.request_pass();
    script.give(unanswered());
    EXPECT_EQ(asked(script.sends()), "search Observation");
}

TEST(MachineQuietTest, WriteWithoutAnAnswerBeginsTheQuietTimeAnew) {
    DialectScript script(careless);
    keep_quiet(script);
    script.answer(script.clinic.answer(script.sends()));
    EXPECT_TRUE(script.settles().state.unguarded) << "a next process has to know before it goes out";
    ASSERT_EQ(asked(script.sends()), "transaction of 1");
    script.no_answer(Reached::perhaps);
    script.settles();
    EXPECT_LT(script.waits(), Policy{}.quiet) << "it is tried with something else as soon as ever";
    script.ring();
    script.give(unanswered());
    script.settles();
    EXPECT_EQ(script.waits(), Policy{}.quiet);
}

TEST(MachineQuietTest, SearchWithoutAnAnswerDoesNot) {
    DialectScript script(careless);
    keep_quiet(script);
    script.no_answer(Reached::perhaps);
    script.settles();
    script.ring();
    script.give(unanswered());
    EXPECT_EQ(asked(script.sends()), "search Observation");
}

TEST(MachineQuietTest, WaitThatWasLongEnoughForAnotherReasonCounts) {
    DialectScript script(careless);
    script.request_pass();
    script.give(weights(1));
    script.answer(script.clinic.answer(script.sends()));
    script.settles();
    script.answer({503, {{"Retry-After", "300"}}, ""});
    EXPECT_THAT(told(script.settles()), ElementsAre("again, outcome unknown, to the back"));
    ASSERT_EQ(script.waits(), 300s);
    script.ring();
    script.give(unanswered());
    EXPECT_EQ(asked(script.sends()), "search Observation");
}

TEST(MachineQuietTest, QuietTimeThatWouldOutlastTheWindowEndsThePass) {
    DialectScript script(careless);
    script.request_pass(false, script.now + 4min);
    script.give(unanswered());
    script.settles();
    EXPECT_THAT(script.settles().state.words, StartsWith("the window closed"));
    EXPECT_TRUE(script.rests());
}

}  // namespace

}  // namespace nightferry::sync
