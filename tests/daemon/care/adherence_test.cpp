// The figures of adherence, by the formulas of Paes 1997 and of the electronic-monitoring literature as the
// header names them; the expected numbers were worked out by hand from the table of the demo's fortnight.
#include "daemon/care/adherence.hpp"

#include "tests/daemon/care/fortnight.hpp"

namespace nightferry::care {
namespace {

using namespace std::chrono_literals;
using namespace test;

Adherence figures(std::string_view from, std::string_view to, Instant known_at = long_after) {
    return adherence_of(fortnight_timeline(known_at), instant(from), instant(to), zone("Europe/Dublin"),
                        household(), {}, {})
        .value();
}

Adherence whole() {
    return figures("2026-10-11T23:00Z", "2026-11-02T00:00Z");
}

// "37/39 94.9"
std::string told(const Share& share) {
    const auto percent = share.percent();
    return std::to_string(share.n) + "/" + std::to_string(share.of) +
           (percent ? " " + percent->to_string() : "");
}

TEST(AdherenceTest, SharesOfTheFortnightAreAsWorkedOutByHand) {
    const Adherence found = whole();
    EXPECT_EQ(told(found.taken), "38/39 97.4");
    EXPECT_EQ(told(found.slots_filled), "37/39 94.9");
    EXPECT_EQ(told(found.days_as_ordered), "18/21 85.7");
    EXPECT_EQ(told(found.days_covered), "19/21 90.5");
    EXPECT_EQ(told(found.near_time), "34/39 87.2");
    EXPECT_EQ(told(found.wide_time), "36/39 92.3");
    EXPECT_EQ(told(found.intervals), "30/35 85.7");
    EXPECT_EQ(told(found.ordered_amount), "36/37 97.3");
}

TEST(AdherenceTest, AmountsOfTheFortnightAreAsWorkedOutByHand) {
    const auto contents = whole().contents;
    ASSERT_EQ(contents.size(), 1U);
    const Content& milligrams = contents.at("enoxaparin-100");
    EXPECT_EQ(milligrams.given, Decimal(726, 0));
    EXPECT_EQ(milligrams.ordered, Decimal(746, 0));
    EXPECT_EQ(milligrams.percent(), Decimal(973, 1));
}

TEST(AdherenceTest, CountsOfTheFortnightAreAsWorkedOutByHand) {
    const Adherence found = whole();
    EXPECT_EQ(found.timings,
              (std::map<Timing, std::int64_t>{
                  {Timing::on_time, 34}, {Timing::early, 1}, {Timing::late, 1}, {Timing::very_late, 1}}));
    EXPECT_EQ(found.extra, 1);
    EXPECT_EQ(found.missed, 1);
    EXPECT_EQ(found.no_record, 1);
    EXPECT_EQ(found.held, 3);
    EXPECT_EQ(found.due, 0);
    EXPECT_EQ(found.provisional, 0);
    EXPECT_EQ(found.by_carer, (std::map<std::string, CarerFigures>{{"marlow", {30, {29, 30}, {30, 30}}},
                                                                   {"tove", {8, {5, 7}, {6, 7}}}}));
}

TEST(AdherenceTest, TimesOfTheFortnightAreAsWorkedOutByHand) {
    const Adherence found = whole();
    EXPECT_EQ(found.deviation_sum, 453min);
    EXPECT_EQ(found.deviation_size_sum, 743min);
    EXPECT_EQ(found.deviation_median, 5min);
    EXPECT_EQ(found.longest_gap, 23h + 25min);
    EXPECT_EQ(found.beyond_gap_max, 17h);
    EXPECT_EQ(found.longest_entry_lag, 36h + 50min);
}

TEST(AdherenceTest, WeeksAreCutAtLocalMidnight) {
    EXPECT_EQ(told(figures("2026-10-11T23:00Z", "2026-10-18T23:00Z").slots_filled), "11/12 91.7");
    EXPECT_EQ(told(figures("2026-10-18T23:00Z", "2026-10-26T00:00Z").slots_filled), "14/14 100.0");
    EXPECT_EQ(told(figures("2026-10-26T00:00Z", "2026-11-02T00:00Z").slots_filled), "12/13 92.3");
}

// What was believed before and after a dose of two days ago was written down, at 09:00.
TEST(AdherenceTest, FiguresAreThoseOfWhatWasKnownThen) {
    const Adherence before = figures("2026-10-11T23:00Z", "2026-11-01T00:00Z", instant("2026-11-01T08:59Z"));
    EXPECT_EQ(told(before.taken), "35/37 94.6");
    EXPECT_EQ(told(before.slots_filled), "34/37 91.9");
    EXPECT_EQ(told(before.days_as_ordered), "16/20 80.0");
    EXPECT_EQ(told(before.near_time), "31/37 83.8");
    EXPECT_EQ(told(before.intervals), "26/32 81.3");
    EXPECT_EQ(before.longest_gap, 24h + 15min);
    EXPECT_EQ(before.contents.at("enoxaparin-100").given, Decimal(666, 0));
    EXPECT_EQ(before.contents.at("enoxaparin-100").ordered, Decimal(706, 0));
    EXPECT_EQ(before.contents.at("enoxaparin-100").percent(), Decimal(943, 1));
    const Adherence after = figures("2026-10-11T23:00Z", "2026-11-01T00:00Z", instant("2026-11-01T09:03Z"));
    EXPECT_EQ(told(after.taken), "36/37 97.3");
    EXPECT_EQ(told(after.slots_filled), "35/37 94.6");
    EXPECT_EQ(told(after.days_as_ordered), "17/20 85.0");
    EXPECT_EQ(told(after.near_time), "32/37 86.5");
    EXPECT_EQ(told(after.intervals), "28/33 84.8");
    EXPECT_EQ(after.longest_gap, 23h + 25min);
    EXPECT_EQ(after.contents.at("enoxaparin-100").percent(), Decimal(972, 1));
}

TEST(AdherenceTest, WhatCannotBeCalculatedIsNeitherNothingNorAll) {
    const Adherence held_day = figures("2026-10-15T12:00Z", "2026-10-16T12:00Z");
    EXPECT_EQ(held_day.held, 2);
    EXPECT_EQ(held_day.slots_filled.percent(), std::nullopt);
    EXPECT_TRUE(held_day.contents.empty());
    EXPECT_EQ(held_day.longest_gap, std::nullopt);
    EXPECT_EQ(held_day.deviation_median, std::nullopt);
    // The clinic held everything and nothing was given.
    EXPECT_EQ(told(held_day.days_as_ordered), "2/2 100.0");
}

TEST(AdherenceTest, SlotIsDueUntilItsLateLimitHasPassed) {
    const auto at = [](std::string_view now) {
        return figures("2026-10-27T00:00Z", "2026-10-27T12:00Z", instant(now));
    };
    EXPECT_EQ(at("2026-10-27T14:00Z").due, 1);
    EXPECT_EQ(at("2026-10-27T14:00Z").slots_filled, (Share{0, 0}));
    EXPECT_EQ(at("2026-10-27T14:01Z").no_record, 1);
    EXPECT_EQ(at("2026-10-27T14:01Z").slots_filled, (Share{0, 1}));
}

}  // namespace
}  // namespace nightferry::care
