#include "daemon/core/decimal.hpp"

namespace nightferry {

namespace {

Decimal decimal(std::string_view text) {
    const auto value = Decimal::parse(text);
    EXPECT_TRUE(value.has_value()) << text;
    return value.value_or(Decimal());
}

std::string through(std::string_view text) {
    return decimal(text).to_string();
}

std::string product(std::string_view a, std::string_view b) {
    const auto value = multiply(decimal(a), decimal(b));
    return value ? value->to_string() : "too long";
}

TEST(DecimalTest, TextKeepsTheDigitsThatWereWritten) {
    for (const char* text :
         {"0", "0.0", "0.180", "0.18", "12", "100.00", "-0.5", "-12.050", "999999999.999999"}) {
        EXPECT_EQ(through(text), text);
    }
}

TEST(DecimalTest, CommaIsReadAsThePoint) {
    EXPECT_EQ(through("0,18"), "0.18");
    EXPECT_EQ(through("-3,50"), "-3.50");
}

TEST(DecimalTest, ZeroHasNoSign) {
    EXPECT_EQ(through("-0"), "0");
    EXPECT_EQ(through("-0.00"), "0.00");
    EXPECT_TRUE(decimal("-0.00").is_zero());
    EXPECT_FALSE(decimal("0.000001").is_zero());
}

TEST(DecimalTest, PartsAreTheWrittenDigits) {
    EXPECT_EQ(decimal("-12.050").coefficient(), -12050);
    EXPECT_EQ(decimal("-12.050").scale(), 3);
    EXPECT_EQ(Decimal(5, 3).to_string(), "0.005");
    EXPECT_EQ(Decimal(-5, 6).to_string(), "-0.000005");
    EXPECT_EQ(Decimal().to_string(), "0");
}

TEST(DecimalTest, TextsThatAreNoDecimalAreRefused) {
    for (const char* text :
         {"",        "-",       ".",     ",",     ".5",   "5.",  "5,",    "+5",  "--5",   "- 5",
          " 5",      "5 ",      "01",    "00",    "-01",  "1e3", "1.5E2", "0x1", "1.2.3", "1,2,3",
          "1.000,5", "1,000.5", "1 000", "1'000", "five", "NaN", "½",     "５",  "1/2",   "5mg"}) {
        EXPECT_FALSE(Decimal::parse(text).has_value()) << text;
    }
    EXPECT_FALSE(Decimal::parse(std::string_view("1\0", 2)).has_value());
}

TEST(DecimalTest, NineDigitsBeforeAndSixBehindThePointAreTheLimit) {
    EXPECT_TRUE(Decimal::parse("999999999").has_value());
    EXPECT_FALSE(Decimal::parse("1000000000").has_value());
    EXPECT_TRUE(Decimal::parse("0.000001").has_value());
    EXPECT_FALSE(Decimal::parse("0.0000001").has_value());
    EXPECT_FALSE(Decimal::parse("0.1000000").has_value());
    EXPECT_FALSE(Decimal::parse("0." + std::string(100'000, '1')).has_value());
    EXPECT_FALSE(Decimal::parse(std::string(100'000, '9')).has_value());
}

TEST(DecimalTest, ComparisonIgnoresTrailingZeros) {
    EXPECT_EQ(decimal("0.4"), decimal("0.40"));
    EXPECT_EQ(decimal("0"), decimal("-0.000000"));
    EXPECT_NE(decimal("0.4"), decimal("0.400001"));
}

TEST(DecimalTest, ComparisonGoesByValue) {
    EXPECT_LT(decimal("0.18"), decimal("0.2"));
    EXPECT_LT(decimal("9.9"), decimal("10"));
    EXPECT_LT(decimal("-10"), decimal("-9.9"));
    EXPECT_LT(decimal("-0.000001"), decimal("0"));
    EXPECT_GT(decimal("999999999.999999"), decimal("999999999.999998"));
    EXPECT_LT(decimal("-999999999"), decimal("999999999"));
}

TEST(DecimalTest, TrimmedKeepsTheValueAndDropsZerosBehindThePoint) {
    EXPECT_EQ(decimal("0.400").trimmed().to_string(), "0.4");
    EXPECT_EQ(decimal("100.00").trimmed().to_string(), "100");
    EXPECT_EQ(decimal("100").trimmed().to_string(), "100");
    EXPECT_EQ(decimal("-0.50").trimmed().to_string(), "-0.5");
    EXPECT_EQ(decimal("0.000").trimmed().to_string(), "0");
}

TEST(DecimalTest, MillilitresTimesStrengthIsExact) {
    EXPECT_EQ(product("0.18", "100"), "18");
    EXPECT_EQ(product("0.18", "150"), "27");
    EXPECT_EQ(product("0.065", "100"), "6.5");
    EXPECT_EQ(product("0.72", "100"), "72");
    EXPECT_EQ(product("0.138", "10000"), "1380");
    EXPECT_EQ(product("0.0552", "25000"), "1380");
    EXPECT_EQ(product("0.55125", "20000"), "11025");
}

TEST(DecimalTest, ProductsThatBinaryFloatsMissAreExact) {
    // IEEE 754 doubles give 28.999999999999996 and 56.99999999999999.
    EXPECT_EQ(product("0.29", "100"), "29");
    EXPECT_EQ(product("0.57", "100"), "57");
    EXPECT_EQ(product("18.4", "0.01"), "0.184");
}

TEST(DecimalTest, ProductIsTrimmedAndCarriesTheSign) {
    EXPECT_EQ(product("0.180", "100.0"), "18");
    EXPECT_EQ(product("-0.5", "0.5"), "-0.25");
    EXPECT_EQ(product("-3", "-4"), "12");
    EXPECT_EQ(product("0.00", "123.456"), "0");
}

TEST(DecimalTest, ProductBeyondTheDigitsOfADecimalIsRefused) {
    EXPECT_EQ(product("0.001", "0.001"), "0.000001");
    EXPECT_EQ(product("0.001", "0.0001"), "too long");
    EXPECT_EQ(product("999999999", "1"), "999999999");
    EXPECT_EQ(product("999999999.999999", "999999999.999999"), "too long");
    EXPECT_EQ(product("-999999999.999999", "999999999.999999"), "too long");
    EXPECT_EQ(product("0.000002", "500000"), "1");
}

std::string text_of(const std::optional<Decimal>& value) {
    return value ? value->to_string() : "too long";
}

std::string stepped(std::string_view value, std::string_view step, Rounding rounding) {
    return text_of(round_to_step(decimal(value), decimal(step), rounding));
}

TEST(DecimalTest, SumsAndDifferencesAreExact) {
    // In binary floating point 0.1 + 0.2 is 0.30000000000000004.
    EXPECT_EQ(text_of(add(decimal("0.1"), decimal("0.2"))), "0.3");
    EXPECT_EQ(text_of(add(decimal("2.999999"), decimal("0.000001"))), "3");
    EXPECT_EQ(text_of(subtract(decimal("3.00"), decimal("0.19"))), "2.81");
    EXPECT_EQ(text_of(subtract(decimal("0.18"), decimal("0.20"))), "-0.02");
    EXPECT_EQ(text_of(add(decimal("999999999.999999"), decimal("0.000001"))), "too long");
    EXPECT_EQ(text_of(subtract(decimal("-999999999"), decimal("1"))), "too long");
}

// Worked by hand: 12.5 mg and 6.5 mg of 100 mg/mL, a child of 18.4 kg, 1 380 IU of 10 000 and 25 000 IU/mL.
// Which way a volume goes is the clinic's to say; libraries differ in what they do by default.
TEST(DecimalTest, RoundingToAStepGoesTheWayThatIsAskedFor) {
    EXPECT_EQ(stepped("0.125", "0.01", Rounding::half_up), "0.13");
    EXPECT_EQ(stepped("0.125", "0.01", Rounding::half_even), "0.12");
    EXPECT_EQ(stepped("0.065", "0.01", Rounding::half_up), "0.07");
    EXPECT_EQ(stepped("0.065", "0.01", Rounding::half_even), "0.06");
    EXPECT_EQ(stepped("0.065", "0.01", Rounding::down), "0.06");
    EXPECT_EQ(stepped("0.184", "0.01", Rounding::half_up), "0.18");
    EXPECT_EQ(stepped("0.184", "0.01", Rounding::up), "0.19");
    EXPECT_EQ(stepped("0.184", "0.005", Rounding::half_up), "0.185");
    EXPECT_EQ(stepped("0.138", "0.01", Rounding::half_up), "0.14");
    EXPECT_EQ(stepped("0.0552", "0.01", Rounding::half_up), "0.06");
    EXPECT_EQ(stepped("5.6", "0.5", Rounding::half_up), "5.5");
    EXPECT_EQ(stepped("67", "10", Rounding::down), "60");
    EXPECT_EQ(stepped("-0.065", "0.01", Rounding::half_up), "-0.07");
    EXPECT_EQ(stepped("0.18", "0.01", Rounding::up), "0.18");
    EXPECT_EQ(stepped("999999999.9", "0.7", Rounding::up), "too long");
}

TEST(DecimalTest, QuotientsHaveTheDigitsThatAreAskedFor) {
    const auto quotient = [](std::string_view a, std::string_view b, int scale, Rounding rounding) {
        return text_of(divide(decimal(a), decimal(b), scale, rounding));
    };
    EXPECT_EQ(quotient("37", "39", 3, Rounding::half_up), "0.949");
    EXPECT_EQ(quotient("2600", "32", 1, Rounding::half_up), "81.3");
    EXPECT_EQ(quotient("2600", "32", 1, Rounding::half_even), "81.2");
    EXPECT_EQ(quotient("12.5", "100", 3, Rounding::half_up), "0.125");
    EXPECT_EQ(quotient("1", "3", 6, Rounding::down), "0.333333");
    EXPECT_EQ(quotient("1", "3", 6, Rounding::up), "0.333334");
    EXPECT_EQ(quotient("-1", "3", 0, Rounding::up), "-1");
    EXPECT_EQ(quotient("1", "0.0", 2, Rounding::half_up), "too long");
    EXPECT_EQ(quotient("999999999", "0.000001", 0, Rounding::half_up), "too long");
}

}  // namespace

}  // namespace nightferry
