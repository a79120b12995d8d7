#include "daemon/core/time.hpp"

#include "daemon/core/zone.hpp"

namespace nightferry {

namespace {

using namespace std::chrono_literals;

LocalSecond local(int y, unsigned m, unsigned d, std::chrono::seconds clock) {
    return LocalSecond{std::chrono::local_days{std::chrono::year{y} / m / d}} + clock;
}

Moment moment(std::string_view text) {
    const auto read = parse_moment(text);
    EXPECT_TRUE(read.has_value()) << text;
    return read ? *read : Moment{};
}

Zone zone(std::string_view name) {
    return *Zone::find(name);
}

// "2026-10-12T08:00:00+01:00", "never", or both meanings.
std::string reading(std::string_view zone_name, LocalSecond time) {
    const Zone::Reading read = zone(zone_name).read(time);
    if (std::holds_alternative<Zone::Nonexistent>(read)) return "never";
    if (const auto* twice = std::get_if<Zone::Ambiguous>(&read)) {
        return to_text(twice->first) + " or " + to_text(twice->second);
    }
    return to_text(std::get<Moment>(read));
}

std::string reading_at(std::string_view zone_name, std::string_view instant) {
    return to_text(zone(zone_name).at(moment(instant).at));
}

TEST(TimeTest, WrittenTimesAreReadInEveryAcceptedForm) {
    const LocalSecond eight = local(2026, 10, 12, 8h);
    for (const char* text :
         {"2026-10-12T08:00", "2026-10-12 08:00", "2026-10-12T08:00:00", "2026-10-12T08:00:00.0"}) {
        const auto written = parse_time(text);
        ASSERT_TRUE(written.has_value()) << text;
        EXPECT_EQ(written->local, eight) << text;
        EXPECT_FALSE(written->offset.has_value()) << text;
    }
}

TEST(TimeTest, OffsetIsReadInMinutes) {
    const std::map<std::string, std::chrono::minutes> offsets{
        {"Z", 0min},         {"+00:00", 0min},   {"-00:00", 0min},   {"+01:00", 60min},
        {"-03:30", -210min}, {"+05:30", 330min}, {"+14:00", 840min}, {"-14:00", -840min}};
    for (const auto& [text, expected] : offsets) {
        const auto written = parse_time("2026-10-12T08:00" + text);
        ASSERT_TRUE(written && written->offset) << text;
        EXPECT_EQ(*written->offset, expected) << text;
    }
}

TEST(TimeTest, FractionOfASecondIsReadToMicroseconds) {
    EXPECT_EQ(parse_time("2026-10-12T08:00:00.5")->fraction, 500'000us);
    EXPECT_EQ(parse_time("2026-10-12T08:00:00.000001Z")->fraction, 1us);
    EXPECT_EQ(parse_time("2026-10-12T08:00:59.999999+01:00")->fraction, 999'999us);
    EXPECT_FALSE(parse_time("2026-10-12T08:00:00.1234567").has_value());
    EXPECT_FALSE(parse_time("2026-10-12T08:00:00.").has_value());
}

TEST(TimeTest, TextsOfAnotherFormAreNoTime) {
    // The last three are leap seconds, as in RFC 3339 section 5.8, and the 24th hour of ISO 8601.
    for (const char* text : {"",
                             "2026-10-12",
                             "08:00",
                             "2026-10-12T8:00",
                             "2026-10-12T08",
                             "2026-10-12T0800",
                             "20261012T0800",
                             "26-10-12T08:00",
                             "12.10.2026 08:00",
                             "2026/10/12 08:00",
                             "2026-10-12t08:00",
                             "2026-10-12T08:00z",
                             "2026-10-12  08:00",
                             "2026-10-12T08:00 Z",
                             "2026-10-12T08:00+1:00",
                             "2026-10-12T08:00+0100",
                             "2026-10-12T08:00+01",
                             "2026-10-12T08:00+14:01",
                             "2026-10-12T08:00+15:00",
                             "2026-10-12T08:00+01:60",
                             "2026-10-12T08:00Zjunk",
                             " 2026-10-12T08:00",
                             "2026-10-12T08:00 ",
                             "2026-10-12T08:60",
                             "2026-13-01T08:00",
                             "2026-00-12T08:00",
                             "2026-10-00T08:00",
                             "2026-10-32T08:00",
                             "-026-10-12T08:00",
                             "1990-12-31T23:59:60Z",
                             "1990-12-31T15:59:60-08:00",
                             "2026-10-12T24:00"}) {
        EXPECT_FALSE(parse_time(text).has_value()) << text;
    }
}

TEST(TimeTest, LeapDayExistsInLeapYearsOnly) {
    EXPECT_TRUE(parse_time("2024-02-29T08:00").has_value());
    EXPECT_TRUE(parse_time("2000-02-29T08:00").has_value());
    EXPECT_FALSE(parse_time("2026-02-29T08:00").has_value());
    EXPECT_FALSE(parse_time("2100-02-29T08:00").has_value());
    EXPECT_FALSE(parse_time("2024-02-30T08:00").has_value());
    EXPECT_FALSE(parse_time("2026-11-31T08:00").has_value());
}

TEST(TimeTest, MomentPrintsAndReadsBack) {
    for (const char* text :
         {"2026-10-12T08:00:00+01:00", "2026-10-12T23:30:15-03:30", "2026-10-12T00:00:00+00:00",
          "2024-02-29T23:59:59.999999+05:45", "1969-12-31T23:59:59.500-01:00", "2026-01-01T00:30:00+14:00"}) {
        EXPECT_EQ(to_text(moment(text)), text);
    }
}

TEST(TimeTest, MomentsOfOneInstantDifferByTheirOffset) {
    const Moment dublin = moment("2026-10-12T08:00:00+01:00");
    const Moment universal = moment("2026-10-12T07:00:00Z");
    EXPECT_EQ(dublin.at, universal.at);
    EXPECT_NE(dublin, universal);
}

TEST(TimeTest, InstantPrintsInUniversalTime) {
    // RFC 3339 section 5.8: these two name the same instant.
    EXPECT_EQ(to_text(moment("1996-12-19T16:39:57-08:00").at), "1996-12-20T00:39:57Z");
    EXPECT_EQ(to_text(Instant{}), "1970-01-01T00:00:00Z");
    EXPECT_EQ(to_text(Instant{-1us}), "1969-12-31T23:59:59.999999Z");
}

TEST(TimeTest, LocalTimePrintsSecondsOnlyWhenThereAreSome) {
    EXPECT_EQ(to_text(local(2026, 10, 12, 8h)), "2026-10-12 08:00");
    EXPECT_EQ(to_text(local(2026, 10, 12, 8h + 5s)), "2026-10-12 08:00:05");
}

TEST(TimeTest, StoredTimeWithoutOffsetIsUnreadable) {
    for (const char* text : {"", "2026-10-12T08:00:00", "yesterday"}) {
        const auto read = parse_moment(text);
        ASSERT_TRUE(read.has_error()) << text;
        EXPECT_EQ(read.error().code, Errc::unreadable);
    }
}

TEST(TimeTest, DateIsReadInTheStatedOrder) {
    const auto date = std::chrono::year{2026} / 3 / 4;
    EXPECT_EQ(parse_date("2026-03-04", DateForm::year_month_day), date);
    EXPECT_EQ(parse_date("04.03.2026", DateForm::day_month_year), date);
    EXPECT_EQ(parse_date("04/03/2026", DateForm::day_month_year), date);
    EXPECT_EQ(parse_date("03/04/2026", DateForm::month_day_year), date);
    EXPECT_EQ(parse_date("03-04-2026", DateForm::month_day_year), date);
    EXPECT_EQ(to_text(date), "2026-03-04");
}

TEST(TimeTest, DateInAnotherOrderOrFormIsRefused) {
    EXPECT_FALSE(parse_date("04.03.2026", DateForm::year_month_day).has_value());
    EXPECT_FALSE(parse_date("2026-03-04", DateForm::day_month_year).has_value());
    EXPECT_FALSE(parse_date("31/12/2026", DateForm::month_day_year).has_value());
    for (const char* text : {"", "4.3.2026", "04.03.26", "04.03/2026", "04 03 2026", "04032026",
                             "04.03.2026 ", "30.02.2026", "29.02.2026"}) {
        EXPECT_FALSE(parse_date(text, DateForm::day_month_year).has_value()) << text;
    }
    EXPECT_TRUE(parse_date("29.02.2024", DateForm::day_month_year).has_value());
}

TEST(TimeTest, ClockIsReadWithOrWithoutLeadingZeroAndSeconds) {
    EXPECT_EQ(parse_clock("8:00"), 8h);
    EXPECT_EQ(parse_clock("08:05"), 8h + 5min);
    EXPECT_EQ(parse_clock("23:59:59"), 24h - 1s);
    EXPECT_EQ(parse_clock("0:00"), 0s);
    for (const char* text : {"", "8", "8:0", "24:00", "08:60", "08:00:60", "8.00", "8am", "08:00 am", ":00",
                             "008:00", "08:00:"}) {
        EXPECT_FALSE(parse_clock(text).has_value()) << text;
    }
}

// The clock changes below are those of IANA tzdata.
TEST(ZoneTest, HourThatCameTwiceHasBothInstants) {
    EXPECT_EQ(reading("Europe/Dublin", local(2026, 10, 25, 1h + 30min)),
              "2026-10-25T01:30:00+01:00 or 2026-10-25T01:30:00+00:00");
    const auto twice = std::get<Zone::Ambiguous>(zone("Europe/Dublin").read(local(2026, 10, 25, 1h + 30min)));
    EXPECT_EQ(to_text(twice.first.at), "2026-10-25T00:30:00Z");
    EXPECT_EQ(to_text(twice.second.at), "2026-10-25T01:30:00Z");
}

TEST(ZoneTest, HourThatWasSkippedNeverWas) {
    EXPECT_EQ(reading("Europe/Dublin", local(2026, 3, 29, 1h + 30min)), "never");
    EXPECT_EQ(reading("Europe/Athens", local(2026, 3, 29, 3h + 30min)), "never");
}

TEST(ZoneTest, EdgesOfAClockChangeHaveOneMeaning) {
    EXPECT_EQ(reading("Europe/Dublin", local(2026, 10, 25, 59min + 59s)), "2026-10-25T00:59:59+01:00");
    EXPECT_EQ(reading("Europe/Dublin", local(2026, 10, 25, 2h)), "2026-10-25T02:00:00+00:00");
    EXPECT_EQ(reading("Europe/Dublin", local(2026, 3, 29, 59min + 59s)), "2026-03-29T00:59:59+00:00");
    EXPECT_EQ(reading("Europe/Dublin", local(2026, 3, 29, 2h)), "2026-03-29T02:00:00+01:00");
}

TEST(ZoneTest, LordHoweMovesItsClocksByHalfAnHour) {
    EXPECT_EQ(reading("Australia/Lord_Howe", local(2026, 4, 5, 1h + 45min)),
              "2026-04-05T01:45:00+11:00 or 2026-04-05T01:45:00+10:30");
    EXPECT_EQ(reading("Australia/Lord_Howe", local(2026, 10, 4, 2h + 15min)), "never");
    EXPECT_EQ(reading("Australia/Lord_Howe", local(2026, 10, 4, 2h + 30min)), "2026-10-04T02:30:00+11:00");
}

TEST(ZoneTest, KolkataKeepsOneHalfHourOffsetAllYear) {
    EXPECT_EQ(reading("Asia/Kolkata", local(2026, 1, 15, 8h)), "2026-01-15T08:00:00+05:30");
    EXPECT_EQ(reading("Asia/Kolkata", local(2026, 7, 15, 8h)), "2026-07-15T08:00:00+05:30");
}

TEST(ZoneTest, InstantReadsAsTheLocalClockDid) {
    EXPECT_EQ(reading_at("Europe/Dublin", "2026-10-25T00:59:59.25Z"), "2026-10-25T01:59:59.250+01:00");
    EXPECT_EQ(reading_at("Europe/Dublin", "2026-10-25T01:00:00Z"), "2026-10-25T01:00:00+00:00");
    EXPECT_EQ(reading_at("Europe/Athens", "2026-07-01T12:00:00Z"), "2026-07-01T15:00:00+03:00");
    EXPECT_EQ(reading_at("America/New_York", "2026-10-28T12:00:00Z"), "2026-10-28T08:00:00-04:00");
}

TEST(ZoneTest, UnknownNamesAreAMatterOfSetup) {
    for (const char* name : {"Europe/Nowhere", "", "GMT+1 ", "../etc/passwd", "europe/dublin"}) {
        const auto found = Zone::find(name);
        ASSERT_TRUE(found.has_error()) << name;
        EXPECT_EQ(found.error().code, Errc::setup);
        EXPECT_THAT(found.error().detail, testing::HasSubstr("use a name like Europe/Dublin"));
    }
    EXPECT_EQ(zone("Europe/Dublin").name(), "Europe/Dublin");
}

}  // namespace

}  // namespace nightferry
