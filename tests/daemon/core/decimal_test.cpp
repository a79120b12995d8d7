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

}  // namespace

}  // namespace nightferry
