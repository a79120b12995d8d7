// Coming to a halt where nothing is under way, so that another loop can take over with other settings.
#include "tests/daemon/sync/world.hpp"

namespace nightferry::sync {

namespace {

using namespace std::chrono_literals;
using namespace test;
using testing::HasSubstr;

struct HaltWorld : World {
    using World::World;
    bool halted = false;

    void halt() {
        loop().halt([this] { halted = true; });
    }
    // Another loop takes over what this one left.
    void take_over() {
        ASSERT_TRUE(halted);
        ASSERT_FALSE(line.waiting) << "a request is still under way";
        halted = false;
        const LeftToDo left = loop().left_to_do();
        start(left);
    }
};

TEST(LoopHaltTest, LoopAtRestHaltsAtOnceAndNothingMovesAnyMore) {
    HaltWorld world;
    world.start();
    world.settle_down();
    world.halt();
    EXPECT_TRUE(world.halted);
    EXPECT_FALSE(world.window.span.has_value());
    const int calls = world.line.calls;
    world.log.accept(a_weight("w1"));
    world.loop().request_pass();
    EXPECT_EQ(world.line.calls, calls);
    world.take_over();
    world.settle_down();
    world.expect_arrived("w1");
}

TEST(LoopHaltTest, WhereverItIsToldToHaltNothingIsUnderWayThenAndEverythingArrivesOnce) {
    int moments = 0;
    for (int at = 0;; ++at) {
        HaltWorld world(1);
        for (const char* label : {"w1", "w2", "w3"})
            world.log.accept(a_weight(label));
        world.start();
        int answered = 0;
        while (answered < at && world.answer())
            ++answered;
        if (answered < at) break;
        ++moments;
        world.halt();
        while (!world.halted)
            ASSERT_TRUE(world.answer()) << "it neither halts nor waits for an answer, at " << at;
        for (const char* label : {"w1", "w2", "w3"})
            EXPECT_THAT(world.log.delivery(label), Not(HasSubstr("under_way"))) << at;
        world.take_over();
        world.settle_down();
        EXPECT_EQ(world.queue(), "0 waiting, 3 confirmed, 0 set aside") << at;
        EXPECT_EQ(world.clinic.count("Observation"), 3u) << at;
        EXPECT_EQ(world.clinic.count("Provenance"), 3u) << at;
    }
    EXPECT_GE(moments, 5) << "of a pass with three writes";
}

TEST(LoopHaltTest, RequestWithoutAnAnswerIsRememberedAsInDoubt) {
    HaltWorld dry_run;
    dry_run.log.accept(a_weight("w1"));
    dry_run.start();
    while (dry_run.line.under_way.method == "GET")
        dry_run.answer();
    HaltWorld world;
    world.log.accept(a_weight("w1"));
    world.line.fault = Fault::answer_lost;
    world.line.fault_at = dry_run.line.calls;
    world.start();
    while (world.line.calls < world.line.fault_at)
        world.answer();
    world.halt();
    EXPECT_FALSE(world.halted) << "the answer may still come";
    world.answer();
    EXPECT_TRUE(world.halted);
    EXPECT_THAT(world.log.delivery("w1"), HasSubstr("waiting"));
    world.take_over();
    world.settle_down();
    world.expect_arrived("w1");
    EXPECT_EQ(world.clinic.count("Provenance"), 1u);
}

TEST(LoopHaltTest, WaitForAClinicThatCannotBeReachedIsNotCutShort) {
    HaltWorld world;
    world.log.accept(a_weight("w1"));
    world.line.fault = Fault::not_reached;
    world.line.fault_at = 1;
    world.start();
    world.answer();
    ASSERT_TRUE(world.retry.span.has_value());
    const auto span = *world.retry.span;
    world.halt();
    EXPECT_TRUE(world.halted);
    EXPECT_FALSE(world.retry.span.has_value());
    const int calls = world.line.calls;
    world.take_over();
    EXPECT_EQ(world.line.calls, calls) << "it waits on";
    ASSERT_TRUE(world.retry.span.has_value());
    EXPECT_EQ(*world.retry.span, span);
    world.settle_down();
    world.expect_arrived("w1");
}

TEST(LoopHaltTest, WhatTheClinicAnsweredIsWrittenDownBeforeItHalts) {
    HaltWorld world;
    world.log.accept(a_weight("w1"));
    world.start();
    while (world.line.under_way.method == "GET")
        world.answer();
    world.outbox.settle_fails = true;
    world.answer();
    ASSERT_TRUE(world.retry.span.has_value()) << "there is no room for the answer";
    world.halt();
    EXPECT_FALSE(world.halted);
    world.outbox.settle_fails = false;
    world.retry.ring(world.clock);
    EXPECT_TRUE(world.halted);
    EXPECT_THAT(world.log.delivery("w1"), HasSubstr("confirmed"));
}

TEST(LoopHaltTest, WithoutRoomToBeginItHaltsAtOnce) {
    HaltWorld world;
    world.log.accept(a_weight("w1"));
    world.outbox.take_has_no_room = true;
    world.start();
    while (world.answer()) {
    }
    ASSERT_TRUE(world.retry.span.has_value());
    world.halt();
    EXPECT_TRUE(world.halted);
    world.outbox.take_has_no_room = false;
    world.take_over();
    world.settle_down();
    world.expect_arrived("w1");
}

TEST(LoopHaltTest, WhatWasToCrossSoonStillDoes) {
    HaltWorld world;
    world.start();
    world.settle_down();
    world.loop().send_as_it_happens({});
    world.log.accept(a_weight("w1"));
    world.loop().on_recorded();
    world.halt();
    EXPECT_TRUE(world.loop().left_to_do().recorded);
    EXPECT_FALSE(world.loop().left_to_do().pass);
}

TEST(LoopHaltTest, WhatIsRecordedAfterItHaltedIsNotForgotten) {
    HaltWorld world;
    world.start();
    world.settle_down();
    world.loop().send_as_it_happens({});
    world.halt();
    EXPECT_FALSE(world.loop().left_to_do().recorded);
    world.loop().on_recorded();
    EXPECT_TRUE(world.loop().left_to_do().recorded);
}

}  // namespace

}  // namespace nightferry::sync
