// Passes soon after something was recorded, and a disk without room in each of their steps.
#include <limits>

#include "tests/daemon/sync/world.hpp"

namespace nightferry::sync {

namespace {

using namespace std::chrono_literals;
using namespace test;
using testing::IsEmpty;

// A loop at rest that is to send as it happens.
struct SoonWorld : World {
    SoonWorld() {
        start();
        settle_down();
        loop().send_as_it_happens({});
    }
    void record(const std::string& label) {
        log.accept(a_weight(label));
        loop().on_recorded();
    }
    // Plays on up to the first write, and leaves it without an answer.
    void begin_to_send() {
        while (line.waiting && line.under_way.method == "GET")
            answer();
        ASSERT_TRUE(line.waiting);
    }
};

TEST(LoopAsItHappensTest, PassStartsByItselfSoonAfterSomethingWasRecorded) {
    SoonWorld world;
    world.record("w1");
    EXPECT_FALSE(world.loop().is_running());
    ASSERT_TRUE(world.retry.span.has_value());
    world.retry.ring(world.clock);
    EXPECT_TRUE(world.loop().is_running());
    world.settle_down();
    world.expect_arrived("w1");
    EXPECT_FALSE(world.retry.span.has_value());
}

TEST(LoopAsItHappensTest, ClinicThatDoesNotWantItWaitsForTheNight) {
    World world;
    world.start();
    world.settle_down();
    world.log.accept(a_weight("w1"));
    world.loop().on_recorded();
    EXPECT_FALSE(world.retry.span.has_value());
}

TEST(LoopAsItHappensTest, DelayIsDrawnBetweenItsBounds) {
    SoonWorld world;
    world.draws = {0, 1'000'000, std::numeric_limits<std::uint64_t>::max()};
    std::vector<std::chrono::microseconds> spans;
    for (int times = 0; times < 3; ++times) {
        world.record("w" + std::to_string(times));
        spans.push_back(world.retry.span.value());
        world.settle_down();
    }
    EXPECT_THAT(spans, testing::ElementsAre(30s, 31s, 5min));
}

TEST(LoopAsItHappensTest, ManyRecordsAreOnePass) {
    SoonWorld world;
    world.record("w1");
    const auto span = world.retry.span.value();
    for (const char* label : {"w2", "w3"}) {
        world.record(label);
        EXPECT_EQ(world.retry.span, span) << "the alarm is not set anew";
    }
    const int calls = world.line.calls;
    world.settle_down();
    EXPECT_EQ(world.queue(), "0 waiting, 3 confirmed, 0 set aside");
    EXPECT_EQ(world.line.calls, calls + 1) << "one bundle";
}

TEST(LoopAsItHappensTest, WhatIsRecordedDuringAPassHasAnotherPassAfterIt) {
    SoonWorld world;
    world.record("w1");
    world.retry.ring(world.clock);
    world.begin_to_send();
    world.record("w2");
    EXPECT_FALSE(world.retry.span.has_value()) << "the running pass keeps its alarm";
    while (world.answer()) {
    }
    EXPECT_FALSE(world.loop().is_running());
    EXPECT_TRUE(world.retry.span.has_value());
    world.settle_down();
    world.expect_arrived("w2");
    EXPECT_FALSE(world.retry.span.has_value()) << "and then no other";
}

TEST(LoopAsItHappensTest, PassOfAPersonTakesThePlaceOfTheOneThatWasToCome) {
    SoonWorld world;
    world.record("w1");
    world.loop().request_pass();
    EXPECT_FALSE(world.retry.span.has_value());
    world.settle_down();
    world.expect_arrived("w1");
    world.record("w2");
    EXPECT_TRUE(world.retry.span.has_value()) << "the next one is awaited again";
}

TEST(LoopAsItHappensTest, ClinicThatFailedIsNotAskedBeforeItsTime) {
    SoonWorld world;
    logbook::ClinicState state = world.outbox.state().value();
    state.failures = 9;
    state.not_before = world.clock.time + 30min;
    ASSERT_TRUE(world.outbox.settle({}, state).has_value());
    world.start().send_as_it_happens({});
    const int calls = world.line.calls;
    world.record("w1");
    world.retry.ring(world.clock);
    EXPECT_EQ(world.line.calls, calls);
    EXPECT_EQ(world.retry.span, 25min) << "what is left of its wait after the drawn five minutes";
    world.settle_down();
    world.expect_arrived("w1");
}

TEST(LoopAsItHappensTest, StoppedLoopStartsNothing) {
    SoonWorld world;
    world.record("w1");
    world.loop().stop();
    EXPECT_FALSE(world.retry.span.has_value());
    world.record("w2");
    EXPECT_FALSE(world.retry.span.has_value());
}

// Where the disk is full, and how the pass stands meanwhile.
struct FullDisk {
    const char* name;
    bool NorthOutbox::*step;
};

class FullDiskTest : public testing::TestWithParam<FullDisk> {};

TEST_P(FullDiskTest, PassStandsStillUntilThereIsRoomAndThenGoesOnWhereItWas) {
    World world;
    world.log.accept(a_weight("w1"));
    world.outbox.*GetParam().step = true;
    world.start();
    while (world.answer()) {
    }
    const int calls = world.line.calls;
    for (int minutes = 0; minutes < 3; ++minutes) {
        EXPECT_EQ(world.events.lines.back(), "disk_full what=outbox clinic=north");
        ASSERT_EQ(world.retry.span, 1min);
        world.retry.ring(world.clock);
        EXPECT_EQ(world.line.calls, calls) << "nothing is sent meanwhile";
    }
    EXPECT_TRUE(world.loop().is_running());
    world.loop().request_pass();
    EXPECT_EQ(world.line.calls, calls) << "also when a person asks";
    world.outbox.*GetParam().step = false;
    world.settle_down();
    EXPECT_THAT(world.failures, IsEmpty());
    EXPECT_EQ(world.queue(), "0 waiting, 1 confirmed, 0 set aside");
    world.expect_arrived("w1");
}

INSTANTIATE_TEST_SUITE_P(LoopTest, FullDiskTest,
                         testing::Values(FullDisk{"InRecall", &NorthOutbox::recall_has_no_room},
                                         FullDisk{"InTake", &NorthOutbox::take_has_no_room},
                                         FullDisk{"InSettle", &NorthOutbox::settle_fails}),
                         [](const auto& step) { return std::string(step.param.name); });

}  // namespace

}  // namespace nightferry::sync
