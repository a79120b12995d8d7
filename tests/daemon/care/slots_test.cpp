// Scheduled doses as instants. Clock changes are those of the system's tzdata (IANA time zone database).
#include "daemon/care/slots.hpp"

#include "tests/daemon/care/fortnight.hpp"

namespace nightferry::care {
namespace {

using namespace std::chrono_literals;
using namespace test;
using testing::ElementsAre;
using Texts = std::vector<std::string>;

Regimen twice_daily(std::string_view zone_name, std::string_view from = "2000-01-01T00:00") {
    return {{every_twelve_hours(from, zone_name)}, {}, {}};
}

Texts dues(const Regimen& regimen, std::string_view from, std::string_view to) {
    Texts texts;
    for (const Slot& slot : slots_between(regimen, instant(from), instant(to)))
        texts.push_back(to_text(slot.due));
    return texts;
}

std::string meant(std::string_view clock, std::string_view zone_name) {
    return to_text(meant_by(zone(zone_name), local(clock)));
}

// The time from an evening to twelve hours later on the clock.
std::chrono::minutes night_from(std::string_view evening, std::string_view zone_name) {
    const Zone here = zone(zone_name);
    return std::chrono::duration_cast<std::chrono::minutes>(meant_by(here, local(evening) + 12h).at -
                                                            meant_by(here, local(evening)).at);
}

TEST(SlotsTest, ClockTimesBecomeInstantsOfTheirZone) {
    EXPECT_THAT(dues(twice_daily("Europe/Dublin"), "2026-10-24T00:00Z", "2026-10-26T00:00Z"),
                ElementsAre("2026-10-24T08:00:00+01:00", "2026-10-24T20:00:00+01:00",
                            "2026-10-25T08:00:00+00:00", "2026-10-25T20:00:00+00:00"));
}

// Europe/Dublin has its summer time as the standard and a negative saving in winter; Lord Howe changes by
// half an hour; India does not change.
TEST(SlotsTest, NightsOfClockChangesAreLongerOrShorter) {
    EXPECT_EQ(night_from("2026-10-24T20:00", "Europe/Dublin"), 13h);
    EXPECT_EQ(night_from("2026-03-28T20:00", "Europe/Dublin"), 11h);
    EXPECT_EQ(night_from("2026-04-04T20:00", "Australia/Lord_Howe"), 12h + 30min);
    EXPECT_EQ(night_from("2026-10-03T20:00", "Australia/Lord_Howe"), 11h + 30min);
    EXPECT_EQ(night_from("2026-10-24T20:00", "Asia/Kolkata"), 12h);
}

// RFC 5545 section 3.3.5.
TEST(SlotsTest, SkippedClockTimeIsMeantAsMuchLater) {
    EXPECT_EQ(meant("2026-03-29T01:30", "Europe/Dublin"), "2026-03-29T02:30:00+01:00");
    EXPECT_EQ(meant("2026-03-08T02:30", "America/New_York"), "2026-03-08T03:30:00-04:00");
}

TEST(SlotsTest, ClockTimeThatComesTwiceIsMeantTheFirstTime) {
    EXPECT_EQ(meant("2026-10-25T01:30", "Europe/Dublin"), "2026-10-25T01:30:00+01:00");
    EXPECT_EQ(meant("2026-11-01T01:30", "America/New_York"), "2026-11-01T01:30:00-04:00");
}

// Samoa went over the date line and had no 30 December 2011.
TEST(SlotsTest, DayThatAZoneLeavesOutHasNoSlots) {
    EXPECT_THAT(
        dues(twice_daily("Pacific/Apia"), "2011-12-29T17:00Z", "2011-12-31T19:00Z"),
        ElementsAre("2011-12-29T08:00:00-10:00", "2011-12-29T20:00:00-10:00", "2011-12-31T08:00:00+14:00",
                    "2011-12-31T20:00:00+14:00", "2012-01-01T08:00:00+14:00"));
}

TEST(SlotsTest, OrderGovernsFromItsFirstSlotOn) {
    const Regimen regimen = fortnight();
    Texts amounts;
    for (const Slot& slot :
         slots_between(regimen, instant("2026-10-21T00:00Z"), instant("2026-10-22T12:00Z")))
        amounts.push_back(dose_of(regimen, slot).amount.value.to_string() + " at " + to_text(slot.due));
    EXPECT_THAT(amounts, ElementsAre("0.18 at 2026-10-21T08:00:00+01:00", "0.20 at 2026-10-21T20:00:00+01:00",
                                     "0.20 at 2026-10-22T08:00:00+01:00"));
}

TEST(SlotsTest, PeriodTakesItsStartAndLeavesItsEnd) {
    const Regimen regimen = twice_daily("Europe/Dublin");
    EXPECT_THAT(dues(regimen, "2026-10-12T07:00Z", "2026-10-12T19:00Z"),
                ElementsAre("2026-10-12T08:00:00+01:00"));
    EXPECT_TRUE(dues(regimen, "2026-10-12T07:00:01Z", "2026-10-12T19:00Z").empty());
}

TEST(SlotsTest, NothingIsDueBeforeTheFirstOrderOrAfterTheEnd) {
    Regimen regimen = twice_daily("Europe/Dublin", "2026-10-12T20:00");
    regimen.end = instant("2026-10-13T19:00Z");
    EXPECT_THAT(dues(regimen, "2026-10-01T00:00Z", "2026-11-01T00:00Z"),
                ElementsAre("2026-10-12T20:00:00+01:00", "2026-10-13T08:00:00+01:00"));
    EXPECT_TRUE(slots_between({}, instant("2026-10-01T00:00Z"), instant("2026-11-01T00:00Z")).empty());
}

// On a journey the clinic may order the times of another zone from a certain slot on.
TEST(SlotsTest, LaterVersionMayBeMeantInAnotherZone) {
    const Regimen regimen{{every_twelve_hours("2026-10-12T08:00", "Europe/Dublin"),
                           every_twelve_hours("2026-10-29T20:00", "Europe/Athens")},
                          {},
                          {}};
    EXPECT_THAT(
        dues(regimen, "2026-10-29T00:00Z", "2026-10-30T12:00Z"),
        ElementsAre("2026-10-29T08:00:00+00:00", "2026-10-29T20:00:00+02:00", "2026-10-30T08:00:00+02:00"));
}

TEST(SlotsTest, SlotsWithinAHoldAreHeld) {
    Regimen regimen = fortnight();
    regimen.holds = {{instant("2026-10-15T19:00Z"), instant("2026-10-16T19:00Z"), "the clinic",
                      instant("2026-10-15T16:00Z"), "a tooth"}};
    const auto slots = slots_between(regimen, fortnight_from, fortnight_to);
    ASSERT_EQ(slots.size(), 42U);
    Texts held;
    for (const Slot& slot : slots) {
        if (slot.held) held.push_back(to_text(slot.due));
    }
    EXPECT_THAT(held, ElementsAre("2026-10-15T20:00:00+01:00", "2026-10-16T08:00:00+01:00"));
}

// Zones with rules of many kinds, over years with all of their changes: on the clock two slots are twelve
// hours apart, but where a zone left out a day.
TEST(SlotsTest, SlotsRiseAndLieTwelveHoursApartOnTheClock) {
    for (const char* name : {"Europe/Dublin", "Europe/London", "America/New_York", "America/Sao_Paulo",
                             "America/St_Johns", "Australia/Lord_Howe", "Pacific/Apia", "Pacific/Chatham",
                             "Asia/Kathmandu", "Asia/Tehran", "Asia/Pyongyang", "Africa/Casablanca",
                             "Africa/Cairo", "Antarctica/Troll", "Asia/Gaza", "America/Caracas", "UTC"}) {
        const auto slots =
            slots_between(twice_daily(name), instant("2000-01-02T00:00Z"), instant("2027-01-01T00:00Z"));
        EXPECT_GT(slots.size(), 19'700U) << name;
        for (std::size_t i = 1; i < slots.size(); ++i) {
            const auto gap = slots[i].due.at - slots[i - 1].due.at;
            const auto on_the_clock = gap + slots[i].due.offset - slots[i - 1].due.offset;
            const bool day_left_out = std::string_view(name) == "Pacific/Apia" && on_the_clock == 36h;
            EXPECT_GT(gap, 0h) << name;
            EXPECT_TRUE(on_the_clock == 12h || day_left_out) << name << ' ' << to_text(slots[i].due);
        }
    }
}

}  // namespace
}  // namespace nightferry::care
