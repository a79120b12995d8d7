// Amounts on syringes. Capacities and marks are those of U-100 insulin syringes (100 marks to the millilitre)
// and of prefilled syringes as labels of enoxaparin list them; the spacing of their marks is from memory and
// varies by maker.
#include "daemon/care/syringe_use.hpp"

namespace nightferry::care {
namespace {

Decimal decimal(std::string_view text) {
    return Decimal::parse(text).value();
}

const entry::Medicine enoxaparin{"e", "enoxaparin", Decimal(100, 0), entry::Unit::milligram};

Syringe syringe(std::string_view capacity, std::string_view step, bool prefilled = false) {
    return {{decimal(step), decimal(capacity)}, prefilled};
}

SyringeUse use(std::string_view ml, const Syringe& with) {
    return syringe_use(*size_of({decimal(ml), entry::Unit::millilitre}, enoxaparin), enoxaparin, with);
}

TEST(SyringeUseTest, AmountLiesOnAMarkOrBetweenTwo) {
    EXPECT_EQ(use("0.18", syringe("0.3", "0.01")).mark, decimal("18"));
    EXPECT_EQ(use("0.065", syringe("0.3", "0.01")).mark, std::nullopt);
    EXPECT_FALSE(use("0.065", syringe("0.3", "0.01")).is_beyond_capacity);
    EXPECT_EQ(use("0.065", syringe("0.3", "0.005")).mark, decimal("13"));
}

TEST(SyringeUseTest, MoreThanItHoldsIsSaid) {
    const SyringeUse more = use("0.31", syringe("0.3", "0.01"));
    EXPECT_TRUE(more.is_beyond_capacity);
    EXPECT_EQ(more.tolerance_ml, std::nullopt);
    EXPECT_FALSE(use("0.30", syringe("0.3", "0.01")).is_beyond_capacity);
}

// 72 mg out of 80 mg in 0.8 mL: 0.08 mL with 8 mg stay behind.
TEST(SyringeUseTest, PrefilledSyringeGivenInPartLeavesARest) {
    const SyringeUse part = use("0.72", syringe("0.8", "0.02", true));
    EXPECT_EQ(part.discarded_ml, decimal("0.08"));
    EXPECT_EQ(part.discarded, decimal("8"));
    EXPECT_EQ(part.mark, decimal("36"));
    EXPECT_EQ(use("0.8", syringe("0.8", "0.025", true)).discarded_ml, std::nullopt);
    EXPECT_EQ(use("0.72", syringe("0.8", "0.02")).discarded_ml, std::nullopt);
}

// Casella, Pediatrics 1993;91:1155: below two marks of 0.01 mL nurses' doses were unacceptably inexact.
TEST(SyringeUseTest, VolumesBelowTwoMarksAreHardlyMeasurable) {
    EXPECT_TRUE(use("0.019", syringe("0.3", "0.01")).is_hardly_measurable);
    EXPECT_FALSE(use("0.02", syringe("0.3", "0.01")).is_hardly_measurable);
}

// from memory: the formula of ISO 7886-1; that of ISO 8537:2007 as read from a damaged copy.
TEST(SyringeUseTest, ToleranceIsThatOfTheSyringe) {
    EXPECT_EQ(use("0.18", syringe("0.3", "0.01")).tolerance_ml, decimal("0.009"));
    EXPECT_EQ(use("0.18", syringe("0.5", "0.01")).tolerance_ml, decimal("0.0086"));
    EXPECT_EQ(use("0.18", syringe("1", "0.01")).tolerance_ml, decimal("0.0186"));
    EXPECT_EQ(use("0.18", syringe("1", "0.01", true)).tolerance_ml, std::nullopt);
}

}  // namespace
}  // namespace nightferry::care
