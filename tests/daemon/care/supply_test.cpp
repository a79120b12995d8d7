// Days' supply. The inputs and the results marked as published come from secondary pages about the measures
// of refill adherence; the other numbers were worked out by hand.
#include "daemon/care/supply.hpp"

#include <limits>
#include <random>

namespace nightferry::care {
namespace {

using namespace std::chrono_literals;
using std::chrono::days;
using std::chrono::January;
using std::chrono::sys_days;

constexpr sys_days new_year_2026 = 2026y / January / 1;

// "30/45 66.7"
std::string told(const Share& share) {
    const auto percent = share.percent();
    return std::to_string(share.n) + "/" + std::to_string(share.of) +
           (percent ? " " + percent->to_string() : "");
}

std::string possession(const std::vector<Fill>& fills, sys_days from, sys_days to) {
    return told(supply_of(fills, from, to).possession);
}

std::string covered(const std::vector<Fill>& fills, sys_days from, sys_days to) {
    return told(supply_of(fills, from, to).covered);
}

// A sheet on adherence metrics, 2018: 30 days obtained and refilled on day 25, a ratio of 1.2. Value from a
// secondary page.
TEST(SupplyTest, PossessionMayExceedAllAndCoverageMayNot) {
    const std::vector<Fill> fills{{new_year_2026, 30}};
    EXPECT_EQ(possession(fills, new_year_2026, new_year_2026 + days{25}), "30/25 120.0");
    EXPECT_EQ(covered(fills, new_year_2026, new_year_2026 + days{25}), "25/25 100.0");
}

// A calculator's page gives 67 % for 30 days obtained every 45 days. Value from a secondary page.
TEST(SupplyTest, DaysWithNothingAtHandAreNotCovered) {
    const std::vector<Fill> once{{new_year_2026, 30}};
    EXPECT_EQ(covered(once, new_year_2026, new_year_2026 + days{45}), "30/45 66.7");
    const std::vector<Fill> twice{{new_year_2026, 30}, {new_year_2026 + days{45}, 30}};
    EXPECT_EQ(covered(twice, new_year_2026, new_year_2026 + days{90}), "60/90 66.7");
    EXPECT_EQ(possession(twice, new_year_2026, new_year_2026 + days{90}), "60/90 66.7");
}

// The claims are the demonstration data of the Pharmacy Quality Alliance for its measure of days covered; the
// results were worked out by hand from them.
TEST(SupplyTest, ClaimsOfTheMeasuresDemonstrationAreAsWorkedOutByHand) {
    const sys_days new_year_2018 = 2018y / 1 / 1;
    const sys_days new_year_2019 = 2019y / 1 / 1;
    EXPECT_EQ(covered({{2018y / 3 / 25, 90}, {2018y / 7 / 5, 90}, {2018y / 9 / 25, 90}}, 2018y / 3 / 25,
                      new_year_2019),
              "270/282 95.7");
    EXPECT_EQ(covered({{2018y / 1 / 1, 90}, {2018y / 3 / 25, 90}, {2018y / 7 / 5, 90}, {2018y / 10 / 15, 90}},
                      new_year_2018, new_year_2019),
              "348/365 95.3");
    EXPECT_EQ(covered({{2018y / 1 / 1, 90}, {2018y / 4 / 1, 90}}, new_year_2018, new_year_2019),
              "180/365 49.3");
}

// The least length of a period is a rule of the caller: the measure above asks for 91 days (from memory).
TEST(SupplyTest, PeriodTooShortForAMeasureIsCountedAllTheSame) {
    EXPECT_EQ(covered({{2018y / 10 / 4, 90}}, 2018y / 10 / 4, 2019y / 1 / 1), "89/89 100.0");
}

// The fills are those of a calculator's page; without moving them forward 87 of the 90 days would count.
// Input from a secondary page, results worked out by hand.
TEST(SupplyTest, FillObtainedBeforeTheLastIsUsedUpIsMovedForward) {
    const std::vector<Fill> fills{{2026y / 1 / 1, 30}, {2026y / 1 / 28, 30}, {2026y / 3 / 1, 30}};
    EXPECT_EQ(covered(fills, new_year_2026, new_year_2026 + days{90}), "90/90 100.0");
    EXPECT_EQ(possession(fills, new_year_2026, new_year_2026 + days{90}), "90/90 100.0");
}

TEST(SupplyTest, PeriodTakesItsFirstDayAndLeavesOutItsEnd) {
    const sys_days from = new_year_2026;
    const sys_days to = from + days{10};
    EXPECT_EQ(covered({{from - days{1}, 5}}, from, to), "0/10 0.0");
    EXPECT_EQ(covered({{from, 5}}, from, to), "5/10 50.0");
    EXPECT_EQ(covered({{to - days{1}, 5}}, from, to), "1/10 10.0");
    EXPECT_EQ(possession({{to - days{1}, 5}}, from, to), "5/10 50.0");
    EXPECT_EQ(possession({{to, 5}}, from, to), "0/10 0.0");
}

TEST(SupplyTest, FillsOfOneDayAddUp) {
    EXPECT_EQ(covered({{new_year_2026, 3}, {new_year_2026, 4}}, new_year_2026, new_year_2026 + days{10}),
              "7/10 70.0");
}

TEST(SupplyTest, FillThatLastsNoDayIsNone) {
    const std::vector<Fill> fills{{new_year_2026, 0}, {new_year_2026, -3}, {new_year_2026, 2}};
    EXPECT_EQ(covered(fills, new_year_2026, new_year_2026 + days{10}), "2/10 20.0");
    EXPECT_EQ(possession(fills, new_year_2026, new_year_2026 + days{10}), "2/10 20.0");
}

TEST(SupplyTest, PeriodWithoutDaysIsNeitherCoveredNorUncovered) {
    const std::vector<Fill> fills{{new_year_2026, 30}};
    EXPECT_EQ(covered(fills, new_year_2026, new_year_2026), "0/0");
    EXPECT_EQ(possession(fills, new_year_2026 + days{1}, new_year_2026), "0/0");
    EXPECT_EQ(covered({}, new_year_2026, new_year_2026 + days{1}), "0/1 0.0");
}

TEST(SupplyTest, HugeSuppliesStayInRange) {
    constexpr int most = std::numeric_limits<int>::max();
    const Supply supply =
        supply_of(std::vector<Fill>(3, {new_year_2026, most}), new_year_2026, new_year_2026 + days{365});
    EXPECT_EQ(supply.covered, (Share{365, 365}));
    EXPECT_EQ(supply.possession, (Share{3LL * most, 365}));
}

// Lives day by day: what is obtained goes onto the shelf, and a day takes one off it.
Supply lived(const std::vector<Fill>& fills, sys_days from, sys_days to) {
    Supply supply{{0, (to - from).count()}, {0, (to - from).count()}};
    std::int64_t shelf = 0;
    for (sys_days day = from; day < to; day += days{1}) {
        for (const Fill& fill : fills) {
            if (fill.on != day) continue;
            shelf += fill.days;
            supply.possession.n += fill.days;
        }
        if (shelf == 0) continue;
        --shelf;
        ++supply.covered.n;
    }
    return supply;
}

TEST(SupplyTest, AgreesWithLivingDayByDayWhateverTheOrderOfFills) {
    constexpr unsigned seed = 20261012;
    SCOPED_TRACE("seed " + std::to_string(seed));
    std::mt19937 random(seed);
    const auto upto = [&](int most) { return std::uniform_int_distribution<int>(0, most)(random); };
    for (int round = 0; round < 2000; ++round) {
        SCOPED_TRACE("round " + std::to_string(round));
        const int length = upto(120);
        std::vector<Fill> fills(static_cast<std::size_t>(upto(12)));
        for (Fill& fill : fills)
            fill = {new_year_2026 + days{upto(140) - 10}, upto(40)};
        const sys_days to = new_year_2026 + days{length};
        const Supply supply = supply_of(fills, new_year_2026, to);
        const Supply expected = lived(fills, new_year_2026, to);
        ASSERT_EQ(supply.covered, expected.covered);
        ASSERT_EQ(supply.possession, expected.possession);
        ASSERT_LE(supply.covered.n, supply.covered.of);
        ASSERT_LE(supply.covered.n, supply.possession.n);
        std::shuffle(fills.begin(), fills.end(), random);
        ASSERT_EQ(supply_of(fills, new_year_2026, to).covered, supply.covered);
    }
}

}  // namespace
}  // namespace nightferry::care
