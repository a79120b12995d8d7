// The sentence that a service manager shows.
#include "daemon/service/standing.hpp"

namespace nightferry::service {

namespace {

using namespace std::chrono_literals;

const Instant night{std::chrono::sys_days{std::chrono::year{2026} / 10 / 20} + 1h + 12min + 5s + 7us};

TEST(StandingTest, AHubWithoutClinicsSaysSo) {
    EXPECT_EQ(in_words({}), "Running; no clinic is in the settings.");
}

TEST(StandingTest, BeforeTheFirstPassThereIsNone) {
    EXPECT_EQ(in_words({1, 0, 0, 0, {}}), "Running; nothing waits for the clinic; no pass has ended yet.");
}

TEST(StandingTest, WhatWaitsAndWhatIsSetAsideIsCounted) {
    EXPECT_EQ(in_words({1, 0, 1, 0, night}),
              "Running; 1 entry waits for the clinic; the last pass ended at 2026-10-20T01:12:05Z.");
    EXPECT_EQ(in_words({2, 0, 3, 2, night}),
              "Running; 3 entries wait for the clinics; 2 entries are set aside until somebody looks "
              "(nightferry set-aside); the last pass ended at 2026-10-20T01:12:05Z.");
}

TEST(StandingTest, APassUnderWayCountsMoreThanTheLastOne) {
    EXPECT_EQ(in_words({1, 1, 12, 0, night}),
              "Running; 12 entries wait for the clinic; a pass is under way.");
}

}  // namespace

}  // namespace nightferry::service
