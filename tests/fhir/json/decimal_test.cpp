// Source: https://www.rfc-editor.org/rfc/rfc8259#section-6 for how numbers are written; comparing them is
// arithmetic.
#include "fhir/json/decimal.hpp"

#include <gtest/gtest.h>

namespace nightferry::fhir::json {
namespace {

void expect_equal(std::string_view a, std::string_view b) {
    EXPECT_TRUE(compare_numbers(a, b) == 0) << a << " = " << b;
    EXPECT_TRUE(compare_numbers(b, a) == 0) << b << " = " << a;
}

void expect_less(std::string_view a, std::string_view b) {
    EXPECT_TRUE(compare_numbers(a, b) < 0) << a << " < " << b;
    EXPECT_TRUE(compare_numbers(b, a) > 0) << b << " > " << a;
}

TEST(CompareNumbersTest, PrecisionDoesNotMatter) {
    expect_equal("1", "1.0");
    expect_equal("1.0", "1.00");
    expect_equal("0.180", "0.18");
    expect_equal("100", "100.000");
}

TEST(CompareNumbersTest, ExponentOnlyMovesThePoint) {
    expect_equal("18E-2", "0.18");
    expect_equal("1e3", "1000");
    expect_equal("1E+3", "1000.0");
    expect_equal("0.001e3", "1");
    expect_equal("12.5e1", "125");
    expect_less("1e2", "1e3");
    expect_less("9e2", "1e3");
    expect_less("1e-3", "1e-2");
}

TEST(CompareNumbersTest, ZeroHasNoSignAndNoExponent) {
    for (const std::string_view zero :
         {"0", "-0", "0.0", "-0.000", "0e5", "0E-7", "0.0e99999999999999999999"})
        expect_equal("0", zero);
    expect_less("-0.0001", "0");
    expect_less("-0", "1e-9");
}

TEST(CompareNumbersTest, NegativeNumbersRunTheOtherWay) {
    expect_less("-2", "-1");
    expect_less("-1", "1");
    expect_less("-1000", "-999.99");
    expect_equal("-1.50", "-15e-1");
    expect_less("-1e3", "-1e2");
}

TEST(CompareNumbersTest, EveryDigitCounts) {
    expect_less("1.00000000000000000000000000000001", "1.00000000000000000000000000000002");
    expect_less("123456789012345678901234567890", "123456789012345678901234567891");
    // Both are 0.1 as binary floating point.
    expect_less("0.1", "0.1000000000000000055511151231257827");
    expect_less("0.9", "0.91");
    expect_less("0.09", "0.1");
    expect_less("99", "100");
    expect_less("0.05", "0.5");
}

TEST(CompareNumbersTest, HugeExponentsAreCutOffAndBothSidesOfZeroKept) {
    expect_less("1", "1e999999999999999999999");
    expect_less("1e-999999999999999999999", "1");
    expect_less("0", "1e-999999999999999999999");
    expect_less("-1e999999999999999999999", "-1");
    expect_equal("1e1000000001", "1e1000000000");
}

TEST(CompareNumbersTest, LongNumbersAreComparedInOneGo) {
    const std::string zeros(1'000'000, '0');
    expect_equal("1." + zeros, "1");
    expect_equal("0." + zeros + "1", "1e-1000001");
    expect_less("1." + zeros, "1." + zeros + "1");
}

// http://hl7.org/fhirpath/#lowboundaryprecision-integer-decimal-date-datetime-time
TEST(BoundaryTest, LiesHalfAUnitOfTheLastDigitAway) {
    for (const auto& [number, low, high] : {std::array<std::string_view, 3>{"9.5", "9.45", "9.55"},
                                            {"10", "9.5", "10.5"},
                                            {"1.587", "1.5865", "1.5875"},
                                            {"1.00", "0.995", "1.005"},
                                            {"100", "99.5", "100.5"},
                                            {"-9.5", "-9.55", "-9.45"},
                                            {"-10", "-10.5", "-9.5"},
                                            {"0", "-0.5", "0.5"},
                                            {"-0.00", "-0.005", "0.005"},
                                            {"12e3", "11.5e3", "12.5e3"},
                                            {"1.0E-2", "0.95E-2", "1.05E-2"}}) {
        expect_equal(low_boundary(number), low);
        expect_equal(high_boundary(number), high);
    }
}

}  // namespace
}  // namespace nightferry::fhir::json
