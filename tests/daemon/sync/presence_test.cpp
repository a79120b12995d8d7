// Whether a clinic may have been put back since it was last heard.
#include "daemon/sync/presence.hpp"

#include <gtest/gtest.h>

namespace nightferry::sync {

namespace {

using namespace std::chrono_literals;

const Instant then = std::chrono::sys_days{std::chrono::year{2026} / 10 / 12};

TEST(PresenceTest, NothingHeardIsNothingToLose) {
    EXPECT_FALSE(Presence(30s).may_have_been_put_back(then));
}

TEST(PresenceTest, ShortSilenceIsNoTimeToPutAServerBack) {
    Presence presence(30s);
    presence.heard(then);
    EXPECT_FALSE(presence.may_have_been_put_back(then + 30s - 1us));
    EXPECT_TRUE(presence.may_have_been_put_back(then + 30s));
}

TEST(PresenceTest, EveryAnswerBeginsTheSilenceAnew) {
    Presence presence(30s);
    presence.heard(then);
    presence.waited(20s);
    presence.heard(then + 20s);
    presence.waited(20s);
    EXPECT_FALSE(presence.may_have_been_put_back(then + 40s));
}

TEST(PresenceTest, WaitsCountThoughTheClockWasSetBackMeanwhile) {
    Presence presence(30s);
    presence.heard(then);
    presence.waited(10s);
    presence.waited(20s);
    EXPECT_TRUE(presence.may_have_been_put_back(then + 1s));
}

TEST(PresenceTest, ClockBeforeTheLastAnswerShowsNothing) {
    Presence presence(30s);
    presence.heard(then);
    EXPECT_TRUE(presence.may_have_been_put_back(then - 1us));
}

TEST(PresenceTest, WhatIsReadAnewDependsOnNothingBefore) {
    Presence presence(30s);
    presence.heard(then);
    presence.forget();
    presence.waited(1h);
    EXPECT_FALSE(presence.may_have_been_put_back(then + 1h));
}

}  // namespace

}  // namespace nightferry::sync
