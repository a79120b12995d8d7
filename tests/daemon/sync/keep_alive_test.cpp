// How many requests one connection is taken to bear.
#include "daemon/sync/keep_alive.hpp"

#include <gtest/gtest.h>

namespace nightferry::sync {

namespace {

using namespace std::chrono_literals;
using Reached = NoAnswer::Reached;

class KeepAliveTest : public testing::Test {
 protected:
    // A connection that gives so many answers and breaks at the next request.
    bool breaks_after(int answers) {
        answer(answers);
        return keep_alive_.on(NoAnswer{Reached::perhaps, "cut off"}, now_);
    }
    void answer(int times) {
        for (int i = 0; i < times; ++i)
            EXPECT_FALSE(keep_alive_.on(HttpAnswer{200, {}, ""}, now_));
    }
    bool is_used_up() { return keep_alive_.is_used_up(now_); }

    KeepAlive keep_alive_;
    Instant now_ = std::chrono::sys_days{std::chrono::year{2026} / 10 / 12};
};

TEST_F(KeepAliveTest, WholeLineIsNeverUsedUp) {
    answer(1000);
    EXPECT_FALSE(is_used_up());
    EXPECT_FALSE(keep_alive_.most().has_value());
}

TEST_F(KeepAliveTest, TwoConnectionsThatBreakAtOneRequestShowWhatTheyBear) {
    EXPECT_FALSE(breaks_after(2));
    EXPECT_TRUE(breaks_after(2));
    EXPECT_EQ(keep_alive_.most(), 2);
    answer(1);
    EXPECT_FALSE(is_used_up());
    answer(1);
    EXPECT_TRUE(is_used_up());
    keep_alive_.closed();
    EXPECT_FALSE(is_used_up());
}

TEST_F(KeepAliveTest, BreaksAtDifferentRequestsAreChance) {
    breaks_after(2);
    EXPECT_FALSE(breaks_after(3));
    EXPECT_FALSE(breaks_after(2));
}

TEST_F(KeepAliveTest, ConnectionThatBoreMoreInBetweenShowsChance) {
    breaks_after(2);
    answer(3);
    keep_alive_.closed();
    EXPECT_FALSE(breaks_after(2));
}

TEST_F(KeepAliveTest, ConnectionThatBoreLessSaysNothing) {
    breaks_after(2);
    answer(1);
    keep_alive_.closed();
    EXPECT_TRUE(breaks_after(2));
}

TEST_F(KeepAliveTest, BreaksAtTheFirstRequestAndConnectionsThatWereNeverMadeSayNothing) {
    EXPECT_FALSE(breaks_after(0));
    EXPECT_FALSE(breaks_after(0));
    breaks_after(2);
    EXPECT_FALSE(breaks_after(0));
    EXPECT_FALSE(keep_alive_.on(NoAnswer{Reached::no, "no route"}, now_));
    EXPECT_TRUE(breaks_after(2));
}

TEST_F(KeepAliveTest, LineThatGetsWorseIsLearnedAnew) {
    breaks_after(4);
    breaks_after(4);
    breaks_after(1);
    EXPECT_TRUE(breaks_after(1));
    EXPECT_EQ(keep_alive_.most(), 1);
}

TEST_F(KeepAliveTest, AfterADayOrWhenTheClockWasSetBackItIsTriedAgain) {
    for (const auto span : {std::chrono::seconds{24h}, std::chrono::seconds{-1s}}) {
        breaks_after(1);
        breaks_after(1);
        answer(1);
        EXPECT_TRUE(is_used_up());
        now_ += span;
        EXPECT_FALSE(is_used_up());
        keep_alive_.closed();
    }
}

}  // namespace

}  // namespace nightferry::sync
