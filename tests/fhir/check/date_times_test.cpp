// Which of two times is later, when only what is certain counts. The rule that asks is per-1
// (https://hl7.org/fhir/R4/datatypes.html#Period): "if present, start SHALL have a lower or equal value than
// end".
#include "fhir/check/date_times.hpp"

#include <gtest/gtest.h>

namespace nightferry::fhir::check {
namespace {

Stretch stretch_of(std::string_view text) {
    Stretch stretch;
    EXPECT_TRUE(read_date_time(text, DateTimeForm{}, &stretch)) << text;
    return stretch;
}

bool surely_after(std::string_view a, std::string_view b) {
    return stretch_of(a).surely_after(stretch_of(b));
}

// One is surely after the other, and then the other is not after the one.
void expect_after(std::string_view later, std::string_view earlier) {
    EXPECT_TRUE(surely_after(later, earlier)) << later << " after " << earlier;
    EXPECT_FALSE(surely_after(earlier, later)) << earlier << " after " << later;
}

void expect_undecided(std::string_view a, std::string_view b) {
    EXPECT_FALSE(surely_after(a, b)) << a << " after " << b;
    EXPECT_FALSE(surely_after(b, a)) << b << " after " << a;
}

TEST(DateTimesTest, WholeDaysAreCompared) {
    expect_after("2026-10-13", "2026-10-12");
    expect_after("2026-11", "2026-10");
    expect_after("2027", "2026");
    expect_undecided("2026-10-12", "2026-10-12");
}

TEST(DateTimesTest, PartialDateMeansAllOfItsDays) {
    expect_undecided("2026", "2026-10-12");
    expect_undecided("2026-10", "2026-10-31");
    expect_undecided("2026-10", "2026");
    expect_after("2026-11-01", "2026-10");
    expect_after("2027-01", "2026");
    expect_after("2024-03-01", "2024-02");
}

TEST(DateTimesTest, ZonesAreTakenIntoAccount) {
    expect_undecided("2026-10-12T08:00:00+02:00", "2026-10-12T06:00:00Z");
    expect_after("2026-10-12T08:00:00+02:00", "2026-10-12T05:59:59Z");
    expect_after("2026-10-12T01:00:00-05:00", "2026-10-12T02:00:00+01:00");
    expect_after("2026-10-12T00:30:00Z", "2026-10-12T01:00:00+01:00");
    expect_undecided("2026-12-31T23:00:00-01:00", "2027-01-01T00:00:00Z");
}

// A day without a zone may be any stretch of 24 hours between 14 hours before and after it in UTC.
TEST(DateTimesTest, DayWithoutAZoneMayLieFourteenHoursAway) {
    expect_undecided("2026-10-12T00:00:00Z", "2026-10-12");
    expect_undecided("2026-10-13T13:59:59Z", "2026-10-12");
    expect_after("2026-10-13T14:00:00Z", "2026-10-12");
    expect_undecided("2026-10-12", "2026-10-11T10:00:00Z");
    expect_after("2026-10-12", "2026-10-11T09:59:59Z");
    expect_undecided("2027", "2026-12-31T12:00:00Z");
}

TEST(DateTimesTest, SecondWithoutAFractionMeansAllOfIt) {
    expect_undecided("2026-10-12T08:00:00.5Z", "2026-10-12T08:00:00Z");
    expect_after("2026-10-12T08:00:01Z", "2026-10-12T08:00:00.999Z");
    expect_after("2026-10-12T08:00:01.0Z", "2026-10-12T08:00:00Z");
}

TEST(DateTimesTest, FractionsAreComparedByValue) {
    expect_after("2026-10-12T08:00:00.5Z", "2026-10-12T08:00:00.45Z");
    expect_after("2026-10-12T08:00:00.000000002Z", "2026-10-12T08:00:00.000000001Z");
    expect_undecided("2026-10-12T08:00:00.50Z", "2026-10-12T08:00:00.5Z");
}

TEST(DateTimesTest, FractionBeyondNanosecondsIsNotDecided) {
    expect_undecided("2026-10-12T08:00:00.0000000009Z", "2026-10-12T08:00:00.0000000001Z");
}

TEST(DateTimesTest, LeapSecondComesBeforeTheNextMinute) {
    expect_after("2017-01-01T00:00:00Z", "2016-12-31T23:59:60Z");
    expect_after("2017-01-01T00:00:00.2Z", "2016-12-31T23:59:60.5Z");
    expect_after("2016-12-31T23:59:60Z", "2016-12-31T23:59:58Z");
    expect_after("2016-12-31T23:59:60Z", "2016-12-31T23:59:59.5Z");
    expect_after("2017-01-01T01:00:00+01:00", "2016-12-31T23:59:60Z");
    expect_undecided("2016-12-31T23:59:60Z", "2016-12-31");
    expect_undecided("2016-12-31T23:59:60.9Z", "2016-12-31T23:59:60.1Z");
}

TEST(DateTimesTest, EndsOfTheCalendarAreCompared) {
    expect_after("9999-12-31T23:59:59-14:00", "9999-12-31T23:59:59Z");
    expect_after("0001-01-01T00:00:00Z", "0001-01-01T00:00:00+14:00");
    expect_after("1970-01-01T00:00:00Z", "1969-12-31T23:59:59.999Z");
}

TEST(DateTimesTest, StretchIsUntouchedByWhatIsNoTime) {
    Stretch stretch{1, 2, 3, 4, true};
    EXPECT_FALSE(read_date_time("2026-02-30", DateTimeForm{}, &stretch));
    EXPECT_EQ(stretch.first_second, 1);
    EXPECT_EQ(stretch.last_second, 2);
}

}  // namespace
}  // namespace nightferry::fhir::check
