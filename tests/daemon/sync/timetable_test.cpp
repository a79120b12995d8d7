// When passes start on their own.
#include "daemon/sync/timetable.hpp"

#include <set>

#include "tests/daemon/sync/clinic.hpp"

namespace nightferry::sync {

namespace {

using namespace std::chrono_literals;
using namespace test;

constexpr Window early{1h, 5h};
constexpr Window around_the_change{30min, 4h};  // 00:30 to 04:00: both clock changes lie in it.
constexpr Window over_midnight{22h, 6h};

Timetable timetable(const Window& window, const std::string& hub = "test-home",
                    std::string_view zone = "Europe/Dublin") {
    return {window, *Zone::find(zone), hub};
}

std::vector<std::string> hubs(int count) {
    std::vector<std::string> names;
    for (int i = 0; i < count; ++i)
        names.push_back("hub-" + std::to_string(i));
    return names;
}

// The local reading of an instant in Dublin.
std::string in_dublin(Instant at) {
    return to_text(Zone::find("Europe/Dublin")->at(at));
}

TEST(TimetableTest, EveryHubStartsInsideTheWindowWithTimeLeftToWork) {
    for (const Window& window : {early, around_the_change, over_midnight, Window{12h, 12h}}) {
        const auto length =
            window.closes > window.opens ? window.closes - window.opens : window.closes - window.opens + 24h;
        for (const std::string& hub : hubs(200)) {
            const auto night = timetable(window, hub).latest(instant("2026-06-15T12:00Z"));
            const Instant opens = night.end - length;
            EXPECT_GE(night.start, opens) << hub;
            EXPECT_LE(night.start, opens + length * 3 / 4) << hub;
        }
    }
}

TEST(TimetableTest, WindowIsLocalTime) {
    EXPECT_EQ(in_dublin(timetable(early).next(instant("2026-06-15T12:00Z")).end),
              "2026-06-16T05:00:00+01:00");
    EXPECT_EQ(in_dublin(timetable(early).next(instant("2026-01-15T12:00Z")).end),
              "2026-01-16T05:00:00+00:00");
    EXPECT_EQ(timetable(early, "test-home", "Pacific/Auckland").next(instant("2026-06-15T12:00Z")).end,
              instant("2026-06-15T17:00Z"));
}

TEST(TimetableTest, HubStartsAtTheSameLocalTimeEveryNight) {
    std::set<std::string> clocks;
    Instant now = instant("2026-01-01T12:00Z");
    for (int night = 0; night < 365; ++night) {
        now = timetable(early).next(now).start;
        // In the nights of the clock changes an hour is missing or doubled.
        const std::string local = in_dublin(now);
        if (!local.starts_with("2026-03-29") && !local.starts_with("2026-10-25"))
            clocks.insert(local.substr(11, 8));
    }
    EXPECT_THAT(clocks, testing::SizeIs(1));
}

TEST(TimetableTest, HubsSpreadEvenlyOverTheWindow) {
    // Ten slots of 18 minutes over three quarters of four hours; a thousand hubs.
    std::vector<int> slots(10);
    const Instant now = instant("2026-06-15T12:00Z");
    for (const std::string& hub : hubs(1000)) {
        const auto night = timetable(early, hub).next(now);
        const auto offset = night.start - (night.end - 4h);
        ++slots.at(static_cast<std::size_t>(std::min<std::int64_t>(offset / 18min, 9)));
    }
    for (const int slot : slots)
        EXPECT_THAT(slot, testing::AllOf(testing::Ge(60), testing::Le(140)));
}

TEST(TimetableTest, OffsetOfAHubNeverChangesBetweenVersions) {
    // Computed apart from our code, from the published FNV-1a parameters
    // (http://www.isthe.com/chongo/tech/comp/fnv/).
    EXPECT_EQ(in_dublin(timetable(early).next(instant("2026-06-15T12:00Z")).start),
              "2026-06-16T02:53:19+01:00");
}

TEST(TimetableTest, NextFollowsLatestWithoutAGap) {
    for (const Window& window : {early, around_the_change}) {
        for (const std::string& hub : hubs(20)) {
            const Timetable times = timetable(window, hub);
            for (Instant now = instant("2026-03-27T00:00Z"); now < instant("2026-03-31T00:00Z");
                 now += 17min) {
                const auto latest = times.latest(now);
                const auto next = times.next(now);
                ASSERT_LE(latest.start, now);
                ASSERT_GT(next.start, now);
                ASSERT_LT(latest.start, latest.end);
                ASSERT_EQ(times.next(latest.start).start, next.start) << hub << " at " << to_text(now);
                ASSERT_EQ(times.latest(next.start - 1us).start, latest.start);
                ASSERT_EQ(times.latest(next.start).start, next.start);
            }
        }
    }
}

TEST(TimetableTest, WindowOverMidnightBelongsToTheNightItOpensIn) {
    for (const std::string& hub : hubs(50)) {
        const auto night = timetable(over_midnight, hub).latest(instant("2026-06-16T12:00Z"));
        EXPECT_GE(in_dublin(night.start), "2026-06-15T22:00:00+01:00");
        EXPECT_EQ(in_dublin(night.end), "2026-06-16T06:00:00+01:00");
    }
}

TEST(TimetableTest, AStartAfterMidnightIsNotSkippedOnceMidnightHasPassed) {
    const Instant late = instant("2026-06-15T20:00Z");
    const Instant past_midnight = instant("2026-06-15T23:03Z");
    for (const std::string& hub : hubs(50)) {
        const auto times = timetable(over_midnight, hub);
        const Instant start = times.next(late).start;
        if (start <= past_midnight) continue;
        EXPECT_EQ(times.next(past_midnight).start, start) << hub;
    }
}

TEST(TimetableTest, SpringNightIsAnHourShorterAndEveryHubStillStartsInIt) {
    // Dublin goes from 01:00 to 02:00 on 2026-03-29 (IANA tzdata, Europe/Dublin).
    std::set<std::string> hours;
    for (const std::string& hub : hubs(300)) {
        const auto night = timetable(around_the_change, hub).next(instant("2026-03-28T12:00Z"));
        EXPECT_EQ(in_dublin(night.end), "2026-03-29T04:00:00+01:00");
        EXPECT_GE(night.start, instant("2026-03-29T00:30Z"));
        EXPECT_LT(night.start, night.end);
        hours.insert(in_dublin(night.start).substr(11, 2));
    }
    EXPECT_THAT(hours, testing::ElementsAre("00", "02", "03"));
}

TEST(TimetableTest, AutumnNightIsAnHourLongerAndStartsOnce) {
    // Dublin goes from 02:00 back to 01:00 on 2026-10-25 (IANA tzdata, Europe/Dublin).
    for (const std::string& hub : hubs(300)) {
        const Timetable times = timetable(around_the_change, hub);
        const auto night = times.next(instant("2026-10-24T12:00Z"));
        EXPECT_EQ(in_dublin(night.end), "2026-10-25T04:00:00+00:00");
        EXPECT_GE(night.start, instant("2026-10-24T23:30Z"));
        EXPECT_LT(night.start, night.end);
        EXPECT_EQ(in_dublin(times.next(night.start).start).substr(0, 10), "2026-10-26");
        if (in_dublin(night.start).substr(11, 2) == "01") {
            EXPECT_LT(night.start, instant("2026-10-25T01:00Z")) << "it starts the first time round";
        }
    }
}

TEST(TimetableTest, WindowThatOpensInTheMissingHourStillOpens) {
    const Window missing{90min, 150min};  // 01:30 to 02:30.
    for (const std::string& hub : hubs(50)) {
        const auto night = timetable(missing, hub).next(instant("2026-03-28T12:00Z"));
        EXPECT_EQ(in_dublin(night.start).substr(0, 10), "2026-03-29");
        EXPECT_GE(night.start, instant("2026-03-29T01:00Z"));
    }
}

}  // namespace

}  // namespace nightferry::sync
