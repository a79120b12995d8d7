// Volume, content and marks. Strengths are those of labels: enoxaparin 100 and 150 mg/mL, dalteparin 10 000
// and 25 000 IU/mL, tinzaparin 20 000 IU/mL; the numbers were worked out by hand.
#include "daemon/care/amounts.hpp"

namespace nightferry::care {
namespace {

using entry::Unit;

Decimal decimal(std::string_view text) {
    return Decimal::parse(text).value();
}

entry::Medicine medicine(std::string_view strength, Unit unit = Unit::milligram) {
    return {"some", "some", decimal(strength), unit};
}

// "18 in 0.18 mL", with "about" before a volume that had to be rounded.
std::string size(std::string_view amount, Unit unit, const entry::Medicine& of) {
    const auto found = size_of({decimal(amount), unit}, of);
    if (!found) return "none";
    return found->content.to_string() + " in " + (found->ml_is_exact ? "" : "about ") +
           found->ml.to_string() + " mL";
}

std::string mark(std::string_view ml, std::string_view step, std::string_view capacity) {
    const auto found = mark_of(decimal(ml), {decimal(step), decimal(capacity)});
    return found ? found->to_string() : "none";
}

TEST(AmountsTest, VolumeAndContentAreTiedByTheStrength) {
    EXPECT_EQ(size("0.18", Unit::millilitre, medicine("100")), "18 in 0.18 mL");
    EXPECT_EQ(size("0.18", Unit::millilitre, medicine("150")), "27 in 0.18 mL");
    EXPECT_EQ(size("72", Unit::milligram, medicine("100")), "72 in 0.72 mL");
    EXPECT_EQ(size("12.5", Unit::milligram, medicine("100")), "12.5 in 0.125 mL");
    EXPECT_EQ(size("1380", Unit::international_unit, medicine("10000", Unit::international_unit)),
              "1380 in 0.138 mL");
    EXPECT_EQ(size("1380", Unit::international_unit, medicine("25000", Unit::international_unit)),
              "1380 in 0.0552 mL");
    EXPECT_EQ(size("11025", Unit::international_unit, medicine("20000", Unit::international_unit)),
              "11025 in 0.55125 mL");
}

// What the labels say of their presentations: US and UK labels of enoxaparin, dalteparin, tinzaparin and
// fondaparinux.
TEST(AmountsTest, PresentationsOfLabelsAreTheirVolumeTimesTheirStrength) {
    struct Presentation {
        std::string_view strength;
        Unit unit;
        std::string_view ml;
        std::string_view content;
    };
    constexpr Unit mg = Unit::milligram;
    constexpr Unit iu = Unit::international_unit;
    for (const Presentation& one : std::initializer_list<Presentation>{
             {"100", mg, "0.2", "20"},       {"100", mg, "0.3", "30"},      {"100", mg, "0.4", "40"},
             {"100", mg, "0.6", "60"},       {"100", mg, "0.8", "80"},      {"100", mg, "1", "100"},
             {"100", mg, "3", "300"},        {"150", mg, "0.8", "120"},     {"150", mg, "1", "150"},
             {"12500", iu, "0.2", "2500"},   {"25000", iu, "0.2", "5000"},  {"25000", iu, "0.3", "7500"},
             {"25000", iu, "0.4", "10000"},  {"25000", iu, "0.5", "12500"}, {"25000", iu, "0.6", "15000"},
             {"25000", iu, "0.72", "18000"}, {"10000", iu, "1", "10000"},   {"25000", iu, "3.8", "95000"},
             {"10000", iu, "9.5", "95000"},  {"20000", iu, "0.05", "1000"}, {"10000", iu, "0.05", "500"},
             {"5", mg, "0.5", "2.5"},        {"12.5", mg, "0.4", "5"},      {"12.5", mg, "0.6", "7.5"},
             {"12.5", mg, "0.8", "10"}}) {
        EXPECT_EQ(size(one.ml, Unit::millilitre, medicine(one.strength, one.unit)),
                  std::string(one.content) + " in " + std::string(one.ml) + " mL");
    }
}

// IEEE 754 doubles give 28.999999999999996 and 56.99999999999999.
TEST(AmountsTest, ContentsThatBinaryFloatsMissAreExact) {
    EXPECT_EQ(size("0.29", Unit::millilitre, medicine("100")), "29 in 0.29 mL");
    EXPECT_EQ(size("0.57", Unit::millilitre, medicine("100")), "57 in 0.57 mL");
}

TEST(AmountsTest, VolumeThatHasNoEndIsRoundedAndSaysSo) {
    EXPECT_EQ(size("10", Unit::milligram, medicine("150")), "10 in about 0.066667 mL");
}

TEST(AmountsTest, UnitsAreNeverTurnedIntoEachOther) {
    EXPECT_EQ(size("1800", Unit::international_unit, medicine("100")), "none");
    EXPECT_EQ(size("18", Unit::milligram, medicine("25000", Unit::international_unit)), "none");
}

// A U-100 insulin syringe of 0.3 mL has a line for each 0.01 mL, some for each 0.005 mL.
TEST(AmountsTest, MarksAreStepsOfTheSyringeAndNotUnitsOfTheMedicine) {
    EXPECT_EQ(mark("0.18", "0.01", "0.3"), "18");
    EXPECT_EQ(mark("0.065", "0.01", "0.3"), "none");
    EXPECT_EQ(mark("0.065", "0.005", "0.3"), "13");
    EXPECT_EQ(mark("0.30", "0.01", "0.3"), "30");
    EXPECT_EQ(mark("0.31", "0.01", "0.3"), "none");
    EXPECT_EQ(mark("0", "0.01", "0.3"), "0");
    EXPECT_EQ(volume_at(decimal("18"), {decimal("0.01"), decimal("0.3")}), decimal("0.18"));
}

TEST(AmountsTest, ToleranceFollowsTheFormulaOnBothSidesOfHalf) {
    const auto tolerance = [](const CapacityTolerance& formula, std::string_view capacity,
                              std::string_view ml) {
        return tolerance_ml(formula, decimal(capacity), decimal(ml)).value().to_string();
    };
    // from memory: the formula of ISO 7886-1 for a tuberculin syringe of 1 mL.
    EXPECT_EQ(tolerance(tolerance_iso_7886_1(), "1", "0.06"), "0.0162");
    EXPECT_EQ(tolerance(tolerance_iso_7886_1(), "1", "0.10"), "0.017");
    EXPECT_EQ(tolerance(tolerance_iso_7886_1(), "1", "0.18"), "0.0186");
    EXPECT_EQ(tolerance(tolerance_iso_7886_1(), "1", "0.20"), "0.019");
    EXPECT_EQ(tolerance(tolerance_iso_7886_1(), "1", "0.50"), "0.025");
    // ISO 8537:2007 as read from a damaged copy.
    EXPECT_EQ(tolerance(tolerance_iso_8537(), "0.5", "0.06"), "0.0062");
    EXPECT_EQ(tolerance(tolerance_iso_8537(), "0.5", "0.10"), "0.007");
    EXPECT_EQ(tolerance(tolerance_iso_8537(), "0.5", "0.18"), "0.0086");
    EXPECT_EQ(tolerance(tolerance_iso_8537(), "0.5", "0.20"), "0.009");
    EXPECT_EQ(tolerance(tolerance_iso_8537(), "0.3", "0.06"), "0.0042");
    EXPECT_EQ(tolerance(tolerance_iso_8537(), "0.3", "0.10"), "0.005");
    EXPECT_EQ(tolerance(tolerance_iso_8537(), "0.3", "0.18"), "0.009");
    EXPECT_EQ(tolerance(tolerance_iso_8537(), "0.3", "0.20"), "0.01");
}

// Published schedules as sums to get right, and never as doses to say: the hub computes none of them.
std::string rounded(std::string_view kg, std::string_view mg_per_kg, std::string_view step,
                    Rounding rounding) {
    const auto product = multiply(decimal(kg), decimal(mg_per_kg)).value();
    return round_to_step(product, decimal(step), rounding).value().to_string();
}

TEST(AmountsTest, PublishedSchedulesForChildrenComeOutAsPublished) {
    // Royal Children's Hospital Melbourne: below 10 kg 1.5 mg/kg and up to 50 kg 1 mg/kg, both up to whole
    // milligrams, above that 1 mg/kg down to tens (and no more than 100).
    EXPECT_EQ(rounded("8.4", "1.5", "1", Rounding::up), "13");
    EXPECT_EQ(size("13", Unit::milligram, medicine("100")), "13 in 0.13 mL");
    EXPECT_EQ(rounded("18.4", "1", "1", Rounding::up), "19");
    EXPECT_EQ(rounded("67", "1", "10", Rounding::down), "60");
    EXPECT_EQ(rounded("112", "1", "10", Rounding::down), "110");
    // London Health Sciences Centre (Ontario), newborns: 1.75 mg/kg in steps of 0.5 or 1 mg.
    EXPECT_EQ(rounded("3.2", "1.75", "0.5", Rounding::half_up), "5.5");
    EXPECT_EQ(rounded("3.2", "1.75", "1", Rounding::half_up), "6");
    // UK prescribing information of tinzaparin: 175 IU/kg.
    EXPECT_EQ(rounded("63", "175", "1", Rounding::half_up), "11025");
}

}  // namespace
}  // namespace nightferry::care
