// A given amount beside the ordered one, with the default limits (common practice, no source); percentages
// worked out by hand.
#include "daemon/care/order_check.hpp"

namespace nightferry::care {
namespace {

using entry::Unit;

entry::Amount amount(std::string_view value, Unit unit = Unit::millilitre) {
    return {Decimal::parse(value).value(), unit};
}

const entry::Medicine enoxaparin{"enoxaparin-100", "enoxaparin", Decimal(100, 0), Unit::milligram};
const entry::Medicine stronger{"enoxaparin-150", "enoxaparin", Decimal(150, 0), Unit::milligram};

std::string told(const AmountCheck& check) {
    constexpr const char* verdicts[] = {"match", "deviates", "large", "possible tenfold", "not comparable"};
    const std::string verdict = verdicts[static_cast<int>(check.verdict)];
    return check.percent ? verdict + ' ' + check.percent->to_string() : verdict;
}

std::string told(std::string_view given, std::string_view ordered) {
    return told(compare_amounts(amount(given), amount(ordered), enoxaparin, {}));
}

TEST(OrderCheckTest, LessThanHalfAMarkIsTheOrderedAmount) {
    EXPECT_EQ(told("0.18", "0.18"), "match 100.0");
    EXPECT_EQ(told("0.184", "0.18"), "match 102.2");
    EXPECT_EQ(told("0.185", "0.18"), "deviates 102.8");
    EXPECT_EQ(told("0.176", "0.18"), "match 97.8");
}

TEST(OrderCheckTest, DeviationsHaveTheirPercentage) {
    EXPECT_EQ(told("0.18", "0.20"), "deviates 90.0");
    EXPECT_EQ(told("0.81", "0.18"), "large 450.0");
    EXPECT_EQ(told("0.40", "0.20"), "large 200.0");
    EXPECT_EQ(told("0.39", "0.20"), "deviates 195.0");
    EXPECT_EQ(told("0.10", "0.20"), "large 50.0");
    EXPECT_EQ(told("0.11", "0.20"), "deviates 55.0");
}

TEST(OrderCheckTest, SlippedPointIsSuspectedBothWays) {
    EXPECT_EQ(told("1.8", "0.18"), "possible tenfold 1000.0");
    EXPECT_EQ(told("0.018", "0.18"), "possible tenfold 10.0");
    EXPECT_EQ(told("1.44", "0.18"), "possible tenfold 800.0");
    EXPECT_EQ(told("1.43", "0.18"), "large 794.4");
    EXPECT_EQ(told("2.16", "0.18"), "possible tenfold 1200.0");
    EXPECT_EQ(told("2.17", "0.18"), "large 1205.6");
    EXPECT_EQ(told("18", "0.18"), "large 10000.0");
}

// What rounding to a mark of 0.01 mL makes of 1 380 IU of dalteparin and 11 025 IU of tinzaparin; strengths
// as on labels.
TEST(OrderCheckTest, RoundingToAMarkWeighsMoreWhereTheStrengthIsHigher) {
    const auto rounded = [](std::string_view ml, std::string_view ordered, std::int64_t strength) {
        return told(compare_amounts(amount(ml), amount(ordered, Unit::international_unit),
                                    {"d", "d", Decimal(strength, 0), Unit::international_unit}, {}));
    };
    EXPECT_EQ(rounded("0.14", "1380", 10'000), "match 101.4");
    EXPECT_EQ(rounded("0.06", "1380", 25'000), "match 108.7");
    EXPECT_EQ(rounded("0.55", "11025", 20'000), "match 99.8");
}

TEST(OrderCheckTest, VolumeAndContentOfOneMedicineAreCompared) {
    EXPECT_EQ(told(compare_amounts(amount("18", Unit::milligram), amount("0.18"), enoxaparin, {})),
              "match 100.0");
    // Mark 18 drawn of the stronger solution holds 27 mg where 18 were ordered.
    EXPECT_EQ(told(compare_amounts(amount("0.18"), amount("18", Unit::milligram), stronger, {})),
              "deviates 150.0");
}

TEST(OrderCheckTest, UnitsThatCannotBeComparedAreNot) {
    const auto check =
        compare_amounts(amount("1800", Unit::international_unit), amount("0.18"), enoxaparin, {});
    EXPECT_EQ(told(check), "not comparable");
}

TEST(OrderCheckTest, NothingGivenAndNothingOrderedAreBorne) {
    EXPECT_EQ(told("0", "0.18"), "large 0.0");
    EXPECT_EQ(told("0.18", "0"), "large");
    EXPECT_EQ(told("0", "0"), "match");
}

}  // namespace
}  // namespace nightferry::care
