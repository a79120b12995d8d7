// When an opened vial may not be used any more: days in use by the calendar, and printed dates.
#include "daemon/care/vials.hpp"

#include <random>

#include "tests/daemon/care/vial_shelf.hpp"

namespace nightferry::care {
namespace {

std::string end_of(std::string_view clock, const VialRules& rules, std::string_view zone_name) {
    const Zone home = zone(zone_name);
    return to_text(home.at(end_of_use(meant_by(home, local(clock)).at, rules, home)));
}

std::string end_of(std::string_view clock, int in_use_days = 28) {
    return end_of(clock, VialRules{in_use_days, DayCount::from_opening, {}}, "Europe/Dublin");
}

std::string printed_end(std::string_view printed, std::string_view zone_name = "Europe/Dublin") {
    return text(end_of_expiry(printed, zone(zone_name)));
}

// The clocks go back on 25 October: 672 hours would end an hour before the dose at eight.
TEST(VialEndTest, DaysFromOpeningAreThoseOfTheCalendar) {
    EXPECT_EQ(end_of("2026-10-12T08:00"), "2026-11-09T08:00:00+00:00");
    EXPECT_EQ(end_of("2026-03-20T08:00"), "2026-04-17T08:00:00+01:00");
    EXPECT_EQ(end_of("2028-02-15T08:00"), "2028-03-14T08:00:00+00:00");
    EXPECT_EQ(end_of("2026-12-10T08:00"), "2027-01-07T08:00:00+00:00");
    EXPECT_EQ(end_of("2026-10-21T07:57", 14), "2026-11-04T07:57:00+00:00");
}

TEST(VialEndTest, DayOfOpeningMayBeTheFirst) {
    EXPECT_EQ(end_of("2026-10-12T08:00", day_one, "Europe/Dublin"), "2026-11-09T00:00:00+00:00");
    EXPECT_EQ(end_of("2026-10-12T00:00", day_one, "Europe/Dublin"), "2026-11-09T00:00:00+00:00");
    EXPECT_EQ(end_of("2026-10-12T23:59:59", day_one, "Europe/Dublin"), "2026-11-09T00:00:00+00:00");
    const VialBook book = follow({vial("V1", "2026-10-12T08:00+01:00")}, {}, {{"enoxaparin-100", day_one}});
    EXPECT_EQ(to_text(book.vials.at(0).discard_on), "2026-11-08");
    EXPECT_EQ(to_text(book.vials.at(0).usable_until), "2026-11-09T00:00:00Z");
}

TEST(VialEndTest, SecondsAndTheirPartsAreKept) {
    const Zone home = zone("Europe/Dublin");
    const Instant opened = instant("2026-10-12T07:55:42Z") + 123'456us;
    EXPECT_EQ(to_text(end_of_use(opened, usual, home)), "2026-11-09T08:55:42.123456Z");
}

// In Dublin 01:30 is skipped on 29 March and comes twice on 25 October (RFC 5545 section 3.3.5).
TEST(VialEndTest, EndAtASkippedOrDoubledTimeIsMeantAsSlotsAre) {
    EXPECT_EQ(end_of("2026-03-01T01:30:05"), "2026-03-29T02:30:05+01:00");
    EXPECT_EQ(end_of("2026-09-27T01:30"), "2026-10-25T01:30:00+01:00");
    const Zone home = zone("Europe/Dublin");
    // Opened at the second 01:30 of the night.
    EXPECT_EQ(to_text(end_of_use(instant("2026-10-25T01:30Z"), usual, home)), "2026-11-22T01:30:00Z");
}

// Sao Paulo went forward at midnight on 4 November 2018, and back to 23:00 on 17 February 2018; Havana goes
// back to midnight; Samoa had no 30 December 2011 (IANA time zone database).
TEST(VialEndTest, DayEndsWhenTheNextOneBegins) {
    const auto end = [](std::string_view clock, std::string_view zone_name) {
        return end_of(clock, day_one, zone_name);
    };
    EXPECT_EQ(end("2018-10-07T09:00", "America/Sao_Paulo"), "2018-11-04T01:00:00-02:00");
    EXPECT_EQ(end("2018-01-21T09:00", "America/Sao_Paulo"), "2018-02-18T00:00:00-03:00");
    EXPECT_EQ(end("2018-10-07T09:00", "America/Havana"), "2018-11-04T00:00:00-04:00");
    EXPECT_EQ(end("2011-12-02T09:00", "Pacific/Apia"), "2011-12-31T00:00:00+14:00");
    EXPECT_EQ(end_of("2011-12-02T09:00", usual, "Pacific/Apia"), "2011-12-31T09:00:00+14:00");
}

// The day after it begins at one, and is no day of use.
TEST(VialEndTest, LastDayIsTheOneBeforeASkippedMidnight) {
    const auto book =
        follow_vials(std::vector{vial("V1", "2018-10-07T12:00Z")}, {},
                     std::vector<VialRulesOf>{{"enoxaparin-100", day_one}}, zone("America/Sao_Paulo"));
    EXPECT_EQ(to_text(book.vials.at(0).discard_on), "2018-11-03");
}

TEST(VialEndTest, PrintedDayOrMonthEndsAtLocalMidnightAfterIt) {
    EXPECT_EQ(printed_end("2027-03-31"), "2027-03-31T23:00:00Z");
    EXPECT_EQ(printed_end("2027-03"), "2027-03-31T23:00:00Z");
    EXPECT_EQ(printed_end("2027-03-30"), "2027-03-30T23:00:00Z");
    EXPECT_EQ(printed_end("2027-12"), "2028-01-01T00:00:00Z");
    EXPECT_EQ(printed_end("2027-02"), "2027-03-01T00:00:00Z");
    EXPECT_EQ(printed_end("2028-02"), "2028-03-01T00:00:00Z");
    EXPECT_EQ(printed_end("2028-02-28"), "2028-02-29T00:00:00Z");
    EXPECT_EQ(printed_end("2028-02-29"), "2028-03-01T00:00:00Z");
    EXPECT_EQ(printed_end("2027-03", "America/New_York"), "2027-04-01T04:00:00Z");
    EXPECT_EQ(printed_end("2018-11-03", "America/Sao_Paulo"), "2018-11-04T03:00:00Z");
}

TEST(VialEndTest, TextThatIsNoPrintedDateEndsNothing) {
    for (const char* text : {"", "2027", "2027-", "2027-3", "2027-13", "2027-00", "2027-02-29", "2027-02-30",
                             "2027-03-31 ", " 2027-03", "2027/03/31", "2027.03", "2027/03", "31-03-2027",
                             "03-2027", "2027-03-1", "2027-03-311", "2027-03-31T00:00", "soon"})
        EXPECT_EQ(printed_end(text), "none") << text;
}

TEST(VialEndTest, PrintedDateCountsWhenItIsTheEarlierEnd) {
    const auto ends = [](std::string_view opened, std::string_view expires, const VialRules& rules) {
        const VialBook book = follow({printed(vial("V1", opened), expires)}, {}, {{"enoxaparin-100", rules}});
        const VialState& state = book.vials.at(0);
        return to_text(state.usable_until) + (state.is_expiry ? " printed " : " opened ") +
               to_text(state.discard_on);
    };
    EXPECT_EQ(ends("2026-10-12T07:00Z", "2026-10", usual), "2026-11-01T00:00:00Z printed 2026-10-31");
    EXPECT_EQ(ends("2026-10-12T07:00Z", "2026-11-08", usual), "2026-11-09T00:00:00Z printed 2026-11-08");
    EXPECT_EQ(ends("2026-10-12T07:00Z", "2026-11-09", usual), "2026-11-09T08:00:00Z opened 2026-11-09");
    EXPECT_EQ(ends("2026-10-12T07:00Z", "2026-11-07", day_one), "2026-11-08T00:00:00Z printed 2026-11-07");
    // Both end at one midnight.
    EXPECT_EQ(ends("2026-10-12T07:00Z", "2026-11-08", day_one), "2026-11-09T00:00:00Z opened 2026-11-08");
    EXPECT_EQ(ends("2026-10-12T07:00Z", "2026-09", usual), "2026-09-30T23:00:00Z printed 2026-09-30");
    EXPECT_EQ(ends("2026-10-11T23:00Z", "2027-09", usual), "2026-11-09T00:00:00Z opened 2026-11-09");
    EXPECT_EQ(ends("2026-10-12T07:00Z", "soon", usual), "2026-11-09T08:00:00Z opened 2026-11-09");
}

// Over zones with changes of many kinds: the clock shows the same at both ends unless that time is skipped,
// and the day of opening as the first never lasts longer.
TEST(VialEndTest, EndShowsTheTimeOfOpeningInEveryZone) {
    constexpr unsigned seed = 28;
    SCOPED_TRACE("seed " + std::to_string(seed));
    std::mt19937 random(seed);
    std::uniform_int_distribution<std::int64_t> second(0, 27LL * 365 * 86'400);
    std::uniform_int_distribution<int> in_use(1, 60);
    for (const char* zone_name :
         {"Europe/Dublin", "America/New_York", "America/Sao_Paulo", "America/St_Johns", "Australia/Lord_Howe",
          "Pacific/Chatham", "Asia/Kathmandu", "Asia/Gaza", "Africa/Casablanca", "Antarctica/Troll", "UTC"}) {
        const Zone home = zone(zone_name);
        const auto clock = [&](Instant at) { return at.time_since_epoch() + home.at(at).offset; };
        for (int round = 0; round < 500; ++round) {
            const Instant opened = instant("2000-01-01T00:00Z") + std::chrono::seconds{second(random)};
            const VialRules rules{in_use(random), DayCount::from_opening, {}};
            const Instant end = end_of_use(opened, rules, home);
            const auto later = clock(end) - clock(opened) - days{rules.in_use_days};
            const auto shift = end - opened - days{rules.in_use_days};
            ASSERT_TRUE(later == 0s || (later > 0s && later <= 2h)) << zone_name << ' ' << to_text(opened);
            ASSERT_TRUE(-2h <= shift && shift <= 2h) << zone_name << ' ' << to_text(opened);
            const VialRules first_day{rules.in_use_days, DayCount::opening_is_day_one, {}};
            ASSERT_LE(end_of_use(opened, first_day, home), end) << zone_name << ' ' << to_text(opened);
        }
    }
}

}  // namespace
}  // namespace nightferry::care
