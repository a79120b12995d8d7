// Vials of the demo's fortnight, days in use by the calendar, and what is covered by what is left. Numbers
// without a source of their own were worked out by hand.
#include "daemon/care/vials.hpp"

#include <random>

#include "daemon/care/slots.hpp"
#include "tests/daemon/care/fortnight.hpp"

namespace nightferry::care {
namespace {

using namespace std::chrono_literals;
using namespace test;
using std::chrono::days;
using testing::ElementsAre;
using testing::IsEmpty;
using Texts = std::vector<std::string>;

const VialRules usual;
const VialRules day_one{28, DayCount::opening_is_day_one, Decimal(1, 2)};

Decimal decimal(std::string_view text) {
    return Decimal::parse(text).value();
}

EntryId id(std::string_view name) {
    return NameSpace("test").id_for(name);
}

OpenedVial vial(std::string_view label, std::string_view at, std::optional<std::string_view> ml = "3") {
    OpenedVial opened;
    opened.id = id(at);
    opened.at = instant(at);
    opened.medicine = "enoxaparin-100";
    opened.label = label;
    if (ml) opened.volume_ml = decimal(*ml);
    return opened;
}

OpenedVial printed(OpenedVial opened, std::string_view expires) {
    opened.expires = expires;
    return opened;
}

GivenDose dose(std::optional<std::string> from, std::string_view at, std::string_view ml = "0.18",
               std::string_view of = "enoxaparin-100") {
    GivenDose given;
    given.id = id(at);
    given.at = instant(at);
    given.medicine = of;
    given.amount = {decimal(ml), entry::Unit::millilitre};
    given.size = size_of(given.amount, enoxaparin).value();
    given.vial = std::move(from);
    return given;
}

VialBook follow(const std::vector<OpenedVial>& vials, const std::vector<GivenDose>& doses,
                const std::vector<VialRulesOf>& rules = {}) {
    return follow_vials(vials, doses, rules, zone("Europe/Dublin"));
}

VialBook fortnight_book(Instant known_at = long_after) {
    const Known known = fortnight_known(known_at);
    return follow(known.vials, known.doses);
}

std::string text(const std::optional<Decimal>& value) {
    return value ? value->to_string() : "none";
}

std::string text(const std::optional<Instant>& at) {
    return at ? to_text(*at) : "none";
}

// "V1: 15 draws, 2.7 + 0.15 + 0.15 mL, 270": injected, lost and left, then the content.
std::string told(const VialState& vial) {
    return vial.label + ": " + std::to_string(vial.draws) + " draws, " + text(vial.injected_ml) + " + " +
           text(vial.lost_ml) + " + " + text(vial.left_ml) + " mL, " + text(vial.content_given);
}

Texts told(const VialBook& book) {
    Texts texts;
    for (const VialState& vial : book.vials)
        texts.push_back(told(vial));
    return texts;
}

std::string_view name(VialConcern concern) {
    switch (concern) {
        case VialConcern::unknown:
            return "unknown";
        case VialConcern::not_named:
            return "not named";
        case VialConcern::other_medicine:
            return "other medicine";
        case VialConcern::after_in_use:
            return "after in use";
        case VialConcern::after_expiry:
            return "after expiry";
        case VialConcern::overdrawn:
            return "overdrawn";
    }
    return "";
}

// "after in use V1 2026-11-09T07:55:00Z"
Texts notes(const VialBook& book) {
    Texts texts;
    for (const VialNote& note : book.notes) {
        std::string told(name(note.concern));
        if (!note.label.empty()) told += " " + note.label;
        if (note.limit) told += " " + to_text(*note.limit);
        texts.push_back(told);
    }
    return texts;
}

std::string end_of(std::string_view clock, const VialRules& rules, std::string_view zone_name) {
    const Zone home = zone(zone_name);
    return to_text(home.at(end_of_use(meant_by(home, local(clock)).at, rules, home)));
}

std::string end_of(std::string_view clock, int in_use_days = 28) {
    return end_of(clock, VialRules{in_use_days, DayCount::from_opening, {}}, "Europe/Dublin");
}

std::string printed_end(std::string_view printed, std::string_view zone_name = "Europe/Dublin") {
    return text(end_of_expiry(printed, zone(zone_name)));
}

// The slots of a regimen as doses to come.
std::vector<ComingDose> coming(const Regimen& regimen, std::string_view from, std::string_view to) {
    std::vector<ComingDose> doses;
    for (const Slot& slot : slots_between(regimen, instant(from), instant(to)))
        doses.push_back(
            {slot.due.at, regimen.orders[slot.order].medicine, dose_of(regimen, slot).amount.value});
    return doses;
}

std::vector<ComingDose> coming_each_day(std::size_t count, std::string_view first, std::string_view ml,
                                        std::string_view medicine = "enoxaparin-100") {
    std::vector<ComingDose> doses;
    for (std::size_t i = 0; i < count; ++i)
        doses.push_back({instant(first) + days{i}, std::string(medicine), decimal(ml)});
    return doses;
}

// "5 until 2026-11-04T08:00:00Z, then 2026-11-04T20:00:00Z, 0.06 over"
std::string told(const Forecast& found) {
    return std::to_string(found.doses_left) + " until " + text(found.last_covered) + ", then " +
           text(found.first_uncovered) + ", " + text(found.rest_ml) + " over";
}

std::string forecast_told(const VialBook& book, const std::vector<ComingDose>& coming,
                          const std::vector<VialRulesOf>& rules = {}) {
    return told(forecast(book, coming, rules));
}

TEST(VialsTest, VialsOfTheFortnightAreAsWorkedOutByHand) {
    const VialBook book = fortnight_book();
    EXPECT_THAT(told(book), ElementsAre("V1: 15 draws, 2.7 + 0.15 + 0.15 mL, 270",
                                        "V2: 14 draws, 2.76 + 0.14 + 0.1 mL, 276",
                                        "V3: 9 draws, 1.8 + 0.09 + 1.11 mL, 180"));
    EXPECT_THAT(notes(book), IsEmpty());
}

// Nine millilitres came in, 7.26 were injected and 38 draws lost 0.01 each.
TEST(VialsTest, VolumeOfTheFortnightAddsUp) {
    Decimal left;
    Decimal taken;
    for (const VialState& vial : fortnight_book().vials) {
        left = add(left, vial.left_ml.value()).value();
        taken = add(taken, add(vial.injected_ml, vial.lost_ml).value()).value();
    }
    EXPECT_EQ(left, decimal("1.36"));
    EXPECT_EQ(taken, decimal("7.64"));
    EXPECT_EQ(subtract(decimal("9.00"), left), taken);
}

// The dose of 30 October in the evening was written down on 1 November at 09:00.
TEST(VialsTest, WhatIsLeftIsWhatWasKnownThen) {
    const auto left_in_third = [](std::string_view known_at) {
        return text(fortnight_book(instant(known_at)).vials.at(2).left_ml);
    };
    EXPECT_EQ(left_in_third("2026-11-01T08:59Z"), "1.53");
    EXPECT_EQ(left_in_third("2026-11-01T09:03Z"), "1.32");
}

TEST(VialsTest, FortnightSaysWhenItsVialsEnd) {
    Texts ends;
    for (const VialState& vial : fortnight_book().vials)
        ends.push_back(to_text(vial.discard_on) + " " + to_text(vial.usable_until));
    EXPECT_THAT(ends, ElementsAre("2026-11-09 2026-11-09T07:55:00Z", "2026-11-18 2026-11-18T07:52:00Z",
                                  "2026-11-25 2026-11-25T09:15:00Z"));
}

TEST(VialsTest, NoVialsMakeAnEmptyBook) {
    const VialBook book = follow({}, {dose(std::nullopt, "2026-10-12T07:00Z")});
    EXPECT_THAT(book.vials, IsEmpty());
    EXPECT_THAT(book.notes, IsEmpty());
}

// The clocks go back on 25 October: 672 hours would end an hour before the dose at eight.
TEST(VialEndTest, DaysFromOpeningAreThoseOfTheCalendar) {
    EXPECT_EQ(end_of("2026-10-12T08:00"), "2026-11-09T08:00:00+00:00");
    EXPECT_EQ(end_of("2026-03-20T08:00"), "2026-04-17T08:00:00+01:00");
    EXPECT_EQ(end_of("2028-02-15T08:00"), "2028-03-14T08:00:00+00:00");
    EXPECT_EQ(end_of("2026-12-10T08:00"), "2027-01-07T08:00:00+00:00");
    EXPECT_EQ(end_of("2026-10-21T07:57", 14), "2026-11-04T07:57:00+00:00");
}

TEST(VialEndTest, DayOfOpeningMayBeTheFirst) {
    EXPECT_EQ(end_of("2026-10-12T08:00", day_one, "Europe/Dublin"), "2026-11-09T00:00:00+00:00");
    EXPECT_EQ(end_of("2026-10-12T00:00", day_one, "Europe/Dublin"), "2026-11-09T00:00:00+00:00");
    EXPECT_EQ(end_of("2026-10-12T23:59:59", day_one, "Europe/Dublin"), "2026-11-09T00:00:00+00:00");
    const VialBook book = follow({vial("V1", "2026-10-12T08:00+01:00")}, {}, {{"enoxaparin-100", day_one}});
    EXPECT_EQ(to_text(book.vials.at(0).discard_on), "2026-11-08");
    EXPECT_EQ(to_text(book.vials.at(0).usable_until), "2026-11-09T00:00:00Z");
}

TEST(VialEndTest, SecondsAndTheirPartsAreKept) {
    const Zone home = zone("Europe/Dublin");
    const Instant opened = instant("2026-10-12T07:55:42Z") + 123'456us;
    EXPECT_EQ(to_text(end_of_use(opened, usual, home)), "2026-11-09T08:55:42.123456Z");
}

// In Dublin 01:30 is skipped on 29 March and comes twice on 25 October (RFC 5545 section 3.3.5).
TEST(VialEndTest, EndAtASkippedOrDoubledTimeIsMeantAsSlotsAre) {
    EXPECT_EQ(end_of("2026-03-01T01:30:05"), "2026-03-29T02:30:05+01:00");
    EXPECT_EQ(end_of("2026-09-27T01:30"), "2026-10-25T01:30:00+01:00");
    const Zone home = zone("Europe/Dublin");
    // Opened at the second 01:30 of the night.
    EXPECT_EQ(to_text(end_of_use(instant("2026-10-25T01:30Z"), usual, home)), "2026-11-22T01:30:00Z");
}

// Sao Paulo went forward at midnight on 4 November 2018, and back to 23:00 on 17 February 2018; Havana goes
// back to midnight; Samoa had no 30 December 2011 (IANA time zone database).
TEST(VialEndTest, DayEndsWhenTheNextOneBegins) {
    const auto end = [](std::string_view clock, std::string_view zone_name) {
        return end_of(clock, day_one, zone_name);
    };
    EXPECT_EQ(end("2018-10-07T09:00", "America/Sao_Paulo"), "2018-11-04T01:00:00-02:00");
    EXPECT_EQ(end("2018-01-21T09:00", "America/Sao_Paulo"), "2018-02-18T00:00:00-03:00");
    EXPECT_EQ(end("2018-10-07T09:00", "America/Havana"), "2018-11-04T00:00:00-04:00");
    EXPECT_EQ(end("2011-12-02T09:00", "Pacific/Apia"), "2011-12-31T00:00:00+14:00");
    EXPECT_EQ(end_of("2011-12-02T09:00", usual, "Pacific/Apia"), "2011-12-31T09:00:00+14:00");
}

// The day after it begins at one, and is no day of use.
TEST(VialEndTest, LastDayIsTheOneBeforeASkippedMidnight) {
    const auto book =
        follow_vials(std::vector{vial("V1", "2018-10-07T12:00Z")}, {},
                     std::vector<VialRulesOf>{{"enoxaparin-100", day_one}}, zone("America/Sao_Paulo"));
    EXPECT_EQ(to_text(book.vials.at(0).discard_on), "2018-11-03");
}

TEST(VialEndTest, PrintedDayOrMonthEndsAtLocalMidnightAfterIt) {
    EXPECT_EQ(printed_end("2027-03-31"), "2027-03-31T23:00:00Z");
    EXPECT_EQ(printed_end("2027-03"), "2027-03-31T23:00:00Z");
    EXPECT_EQ(printed_end("2027-03-30"), "2027-03-30T23:00:00Z");
    EXPECT_EQ(printed_end("2027-12"), "2028-01-01T00:00:00Z");
    EXPECT_EQ(printed_end("2027-02"), "2027-03-01T00:00:00Z");
    EXPECT_EQ(printed_end("2028-02"), "2028-03-01T00:00:00Z");
    EXPECT_EQ(printed_end("2028-02-28"), "2028-02-29T00:00:00Z");
    EXPECT_EQ(printed_end("2028-02-29"), "2028-03-01T00:00:00Z");
    EXPECT_EQ(printed_end("2027-03", "America/New_York"), "2027-04-01T04:00:00Z");
    EXPECT_EQ(printed_end("2018-11-03", "America/Sao_Paulo"), "2018-11-04T03:00:00Z");
}

TEST(VialEndTest, TextThatIsNoPrintedDateEndsNothing) {
    for (const char* text : {"", "2027", "2027-", "2027-3", "2027-13", "2027-00", "2027-02-29", "2027-02-30",
                             "2027-03-31 ", " 2027-03", "2027/03/31", "2027.03", "2027/03", "31-03-2027",
                             "03-2027", "2027-03-1", "2027-03-311", "2027-03-31T00:00", "soon"})
        EXPECT_EQ(printed_end(text), "none") << text;
}

TEST(VialEndTest, PrintedDateCountsWhenItIsTheEarlierEnd) {
    const auto ends = [](std::string_view opened, std::string_view expires, const VialRules& rules) {
        const VialBook book = follow({printed(vial("V1", opened), expires)}, {}, {{"enoxaparin-100", rules}});
        const VialState& state = book.vials.at(0);
        return to_text(state.usable_until) + (state.is_expiry ? " printed " : " opened ") +
               to_text(state.discard_on);
    };
    EXPECT_EQ(ends("2026-10-12T07:00Z", "2026-10", usual), "2026-11-01T00:00:00Z printed 2026-10-31");
    EXPECT_EQ(ends("2026-10-12T07:00Z", "2026-11-08", usual), "2026-11-09T00:00:00Z printed 2026-11-08");
    EXPECT_EQ(ends("2026-10-12T07:00Z", "2026-11-09", usual), "2026-11-09T08:00:00Z opened 2026-11-09");
    EXPECT_EQ(ends("2026-10-12T07:00Z", "2026-11-07", day_one), "2026-11-08T00:00:00Z printed 2026-11-07");
    // Both end at one midnight.
    EXPECT_EQ(ends("2026-10-12T07:00Z", "2026-11-08", day_one), "2026-11-09T00:00:00Z opened 2026-11-08");
    EXPECT_EQ(ends("2026-10-12T07:00Z", "2026-09", usual), "2026-09-30T23:00:00Z printed 2026-09-30");
    EXPECT_EQ(ends("2026-10-11T23:00Z", "2027-09", usual), "2026-11-09T00:00:00Z opened 2026-11-09");
    EXPECT_EQ(ends("2026-10-12T07:00Z", "soon", usual), "2026-11-09T08:00:00Z opened 2026-11-09");
}

// Over zones with changes of many kinds: the clock shows the same at both ends unless that time is skipped,
// and the day of opening as the first never lasts longer.
TEST(VialEndTest, EndShowsTheTimeOfOpeningInEveryZone) {
    constexpr unsigned seed = 28;
    SCOPED_TRACE("seed " + std::to_string(seed));
    std::mt19937 random(seed);
    std::uniform_int_distribution<std::int64_t> second(0, 27LL * 365 * 86'400);
    std::uniform_int_distribution<int> in_use(1, 60);
    for (const char* zone_name :
         {"Europe/Dublin", "America/New_York", "America/Sao_Paulo", "America/St_Johns", "Australia/Lord_Howe",
          "Pacific/Chatham", "Asia/Kathmandu", "Asia/Gaza", "Africa/Casablanca", "Antarctica/Troll", "UTC"}) {
        const Zone home = zone(zone_name);
        const auto clock = [&](Instant at) { return at.time_since_epoch() + home.at(at).offset; };
        for (int round = 0; round < 500; ++round) {
            const Instant opened = instant("2000-01-01T00:00Z") + std::chrono::seconds{second(random)};
            const VialRules rules{in_use(random), DayCount::from_opening, {}};
            const Instant end = end_of_use(opened, rules, home);
            const auto later = clock(end) - clock(opened) - days{rules.in_use_days};
            const auto shift = end - opened - days{rules.in_use_days};
            ASSERT_TRUE(later == 0s || (later > 0s && later <= 2h)) << zone_name << ' ' << to_text(opened);
            ASSERT_TRUE(-2h <= shift && shift <= 2h) << zone_name << ' ' << to_text(opened);
            const VialRules first_day{rules.in_use_days, DayCount::opening_is_day_one, {}};
            ASSERT_LE(end_of_use(opened, first_day, home), end) << zone_name << ' ' << to_text(opened);
        }
    }
}

TEST(VialNotesTest, DoseNamesAVialThatWasOpenedBeforeIt) {
    const VialBook book = follow({vial("V1", "2026-10-12T07:00Z")},
                                 {dose("V1", "2026-10-12T06:59:59Z"), dose("V1", "2026-10-12T07:00Z"),
                                  dose("v1", "2026-10-12T19:00Z"), dose("V2", "2026-10-13T07:00Z")});
    EXPECT_THAT(notes(book), ElementsAre("unknown V1", "unknown v1", "unknown V2"));
    EXPECT_EQ(book.notes.at(0).dose, id("2026-10-12T06:59:59Z"));
    EXPECT_THAT(told(book), ElementsAre("V1: 1 draws, 0.18 + 0.01 + 2.81 mL, 18"));
}

TEST(VialNotesTest, DoseThatNamesNoVialIsNotedOnceOneOfItsMedicineIsOpen) {
    const VialBook book = follow({vial("V1", "2026-10-12T07:00Z")},
                                 {dose(std::nullopt, "2026-10-11T19:00Z"),
                                  dose(std::nullopt, "2026-10-12T07:00Z", "0.2", "dalteparin-25000"),
                                  dose(std::nullopt, "2026-10-12T07:00:01Z")});
    EXPECT_THAT(notes(book), ElementsAre("not named"));
    EXPECT_EQ(book.notes.at(0).dose, id("2026-10-12T07:00:01Z"));
    EXPECT_EQ(book.vials.at(0).draws, 0);
}

TEST(VialNotesTest, DoseOfAnotherStrengthTakesVolumeAndNoContent) {
    const VialBook book =
        follow({vial("V1", "2026-10-12T07:00Z")},
               {dose("V1", "2026-10-12T07:01Z"), dose("V1", "2026-10-12T19:00Z", "0.12", "enoxaparin-150")});
    EXPECT_THAT(notes(book), ElementsAre("other medicine V1"));
    EXPECT_THAT(told(book), ElementsAre("V1: 2 draws, 0.3 + 0.02 + 2.68 mL, 18"));
}

TEST(VialNotesTest, EndOfUseIsTheFirstInstantThatIsTooLate) {
    const OpenedVial opened = printed(vial("V1", "2026-10-12T07:00Z"), "2026-11-20");
    std::vector<GivenDose> doses{dose("V1", "2026-11-09T08:00Z"), dose("V1", "2026-11-09T08:00Z"),
                                 dose("V1", "2026-11-20T23:59:59Z"), dose("V1", "2026-11-21T00:00Z")};
    doses.front().at -= 1us;
    const VialBook book = follow({opened}, doses);
    EXPECT_THAT(notes(book),
                ElementsAre("after in use V1 2026-11-09T08:00:00Z", "after in use V1 2026-11-09T08:00:00Z",
                            "after in use V1 2026-11-09T08:00:00Z", "after expiry V1 2026-11-21T00:00:00Z"));
    EXPECT_EQ(book.vials.at(0).draws, 4);
    EXPECT_EQ(book.vials.at(0).draws_after_end, 3);
}

TEST(VialNotesTest, PrintedDateThatComesFirstIsNotedAlone) {
    const VialBook book = follow({printed(vial("V1", "2026-10-12T07:00Z"), "2026-10")},
                                 {dose("V1", "2026-10-31T23:59:59Z"), dose("V1", "2026-11-01T00:00Z")});
    EXPECT_THAT(notes(book), ElementsAre("after expiry V1 2026-11-01T00:00:00Z"));
    EXPECT_EQ(book.vials.at(0).draws_after_end, 1);
}

TEST(VialNotesTest, VialMayBeEmptiedToTheLastDropAndNoFurther) {
    const VialBook book = follow({vial("V1", "2026-10-12T07:00Z", "0.38")},
                                 {dose("V1", "2026-10-12T07:00Z"), dose("V1", "2026-10-12T19:00Z"),
                                  dose("V1", "2026-10-13T07:00Z"), dose("V1", "2026-10-13T19:00Z")});
    EXPECT_THAT(notes(book), ElementsAre("overdrawn V1", "overdrawn V1"));
    EXPECT_EQ(book.notes.at(0).dose, id("2026-10-13T07:00Z"));
    EXPECT_THAT(told(book), ElementsAre("V1: 4 draws, 0.72 + 0.04 + -0.38 mL, 72"));
}

TEST(VialNotesTest, LossOfTheLastDrawCountsToo) {
    const std::vector<OpenedVial> vials{vial("V1", "2026-10-12T07:00Z", "0.18")};
    const std::vector<GivenDose> doses{dose("V1", "2026-10-12T07:00Z")};
    EXPECT_THAT(notes(follow(vials, doses)), ElementsAre("overdrawn V1"));
    const VialRules without_loss{28, DayCount::from_opening, Decimal()};
    EXPECT_THAT(notes(follow(vials, doses, {{"enoxaparin-100", without_loss}})), IsEmpty());
}

TEST(VialNotesTest, DoseWithSeveralConcernsHasANoteForEach) {
    const VialBook book = follow({printed(vial("V1", "2026-10-12T07:00Z", "0.1"), "2026-10")},
                                 {dose("V1", "2026-12-12T07:00Z", "0.18", "enoxaparin-150")});
    EXPECT_THAT(notes(book), ElementsAre("other medicine V1", "after in use V1 2026-11-09T08:00:00Z",
                                         "after expiry V1 2026-11-01T00:00:00Z", "overdrawn V1"));
}

TEST(VialsTest, LabelMeansTheLastVialThatBoreIt) {
    const VialBook book = follow({vial("V1", "2026-10-12T07:00Z"), vial("V1", "2026-10-21T07:00Z")},
                                 {dose("V1", "2026-10-12T07:00Z"), dose("V1", "2026-10-21T06:59:59Z"),
                                  dose("V1", "2026-10-21T07:00Z")});
    EXPECT_THAT(told(book), ElementsAre("V1: 2 draws, 0.36 + 0.02 + 2.62 mL, 36",
                                        "V1: 1 draws, 0.18 + 0.01 + 2.81 mL, 18"));
}

TEST(VialsTest, OfTwoOpenedAtOnceTheLaterInTheListIsTheLast) {
    const VialBook book = follow({vial("V1", "2026-10-12T07:00Z"), vial("V1", "2026-10-12T07:00Z", "1")},
                                 {dose("V1", "2026-10-12T07:00Z")});
    EXPECT_THAT(told(book),
                ElementsAre("V1: 0 draws, 0 + 0 + 3 mL, 0", "V1: 1 draws, 0.18 + 0.01 + 0.81 mL, 18"));
}

TEST(VialsTest, VialOfUnknownVolumeIsFollowedWithoutARest) {
    const VialBook book = follow({vial("V1", "2026-10-12T07:00Z", std::nullopt)},
                                 {dose("V1", "2026-10-12T07:00Z", "20"), dose("V1", "2026-10-12T19:00Z")});
    EXPECT_THAT(told(book), ElementsAre("V1: 2 draws, 20.18 + 0.02 + none mL, 2018"));
    EXPECT_THAT(notes(book), IsEmpty());
}

TEST(VialsTest, VialOpenedAfterTheLastDoseIsInTheBook) {
    OpenedVial opened = vial("V2", "2026-10-21T07:00Z");
    opened.lot = "LOT-7";
    const VialBook book =
        follow({vial("V1", "2026-10-12T07:00Z"), opened}, {dose("V1", "2026-10-12T07:00Z")});
    ASSERT_EQ(book.vials.size(), 2U);
    EXPECT_EQ(book.vials[1].label, "V2");
    EXPECT_EQ(book.vials[1].lot, "LOT-7");
    EXPECT_EQ(book.vials[1].opened_by, id("2026-10-21T07:00Z"));
    EXPECT_EQ(book.vials[1].left_ml, decimal("3"));
}

TEST(VialsTest, RulesAreThoseOfTheMedicineOfTheVial) {
    OpenedVial other = vial("T1", "2026-10-21T07:00Z", "2");
    other.medicine = "tinzaparin-20000";
    const VialRules fortnight_and_more{14, DayCount::from_opening, decimal("0.05")};
    const VialBook book =
        follow({vial("V1", "2026-10-21T07:00Z"), other},
               {dose("V1", "2026-10-21T07:00Z"), dose("T1", "2026-10-21T07:00Z", "0.4", "tinzaparin-20000")},
               {{"tinzaparin-20000", fortnight_and_more}});
    EXPECT_EQ(text(book.vials.at(0).left_ml), "2.81");
    EXPECT_EQ(text(book.vials.at(1).left_ml), "1.55");
    EXPECT_EQ(to_text(book.vials.at(0).discard_on), "2026-11-18");
    EXPECT_EQ(to_text(book.vials.at(1).discard_on), "2026-11-04");
}

TEST(VialsTest, DrawThatMakesASumTooLongIsNotedAndNotCounted) {
    std::vector<GivenDose> doses(3, dose("V1", "2026-10-12T07:00Z"));
    doses[1].size.content = decimal("999999999");
    for (const auto& volume : {std::optional<std::string_view>("3"), std::optional<std::string_view>()}) {
        const VialBook book = follow({vial("V1", "2026-10-12T07:00Z", volume)}, doses);
        EXPECT_THAT(notes(book), ElementsAre("overdrawn V1"));
        EXPECT_EQ(book.vials.at(0).draws, 2);
        EXPECT_EQ(text(book.vials.at(0).injected_ml), "0.36");
        EXPECT_EQ(text(book.vials.at(0).content_given), "36");
    }
}

TEST(ForecastTest, ThirdVialOfTheFortnightCoversFiveMoreDoses) {
    const auto doses = coming(fortnight(), "2026-11-02T00:00Z", "2026-12-01T00:00Z");
    EXPECT_EQ(forecast_told(fortnight_book(), doses),
              "5 until 2026-11-04T08:00:00Z, then 2026-11-04T20:00:00Z, 0.06 over");
}

// 0.04 mL with a loss of 0.01 twice a day from 3 mL: 60 draws by volume, 56 within 28 days.
TEST(ForecastTest, TimeMayEndAVialBeforeItsVolumeDoes) {
    const Regimen regimen{{every_twelve_hours("2026-10-12T08:00", "Europe/Dublin", "0.04")}, {}, {}};
    const auto doses = coming(regimen, "2026-10-12T00:00Z", "2026-12-31T00:00Z");
    const std::vector<OpenedVial> vials{vial("V1", "2026-10-12T07:00Z")};
    const VialRules long_lived{365, DayCount::from_opening, decimal("0.01")};
    const auto found = [&](const VialRules& rules) {
        const std::vector<VialRulesOf> named{{"enoxaparin-100", rules}};
        return forecast_told(follow(vials, {}, named), doses, named);
    };
    EXPECT_EQ(found(usual), "56 until 2026-11-08T20:00:00Z, then 2026-11-09T08:00:00Z, 0.2 over");
    EXPECT_EQ(found(day_one), "56 until 2026-11-08T20:00:00Z, then 2026-11-09T08:00:00Z, 0.2 over");
    EXPECT_EQ(found(long_lived), "60 until 2026-11-10T20:00:00Z, then 2026-11-11T08:00:00Z, 0 over");
}

TEST(ForecastTest, DosesComeFromTheVialOpenedFirstThatHoldsEnough) {
    const VialBook book =
        follow({vial("V1", "2026-10-12T07:00Z", "0.50"), vial("V2", "2026-10-12T08:00Z", "0.50")}, {});
    // Two from each, and 0.08 over in both: too little for a third.
    EXPECT_EQ(forecast_told(book, coming_each_day(9, "2026-10-13T07:00Z", "0.20")),
              "4 until 2026-10-16T07:00:00Z, then 2026-10-17T07:00:00Z, 0.08 over");
    // A smaller one finds what a larger one left in the first.
    auto doses = coming_each_day(5, "2026-10-13T07:00Z", "0.20");
    doses[2].ml = decimal("0.07");
    doses[4].ml = decimal("0.29");
    EXPECT_EQ(forecast_told(book, doses),
              "4 until 2026-10-16T07:00:00Z, then 2026-10-17T07:00:00Z, 0.29 over");
    doses[4].ml = decimal("0.28");
    EXPECT_EQ(forecast_told(book, doses), "5 until 2026-10-17T07:00:00Z, then none, 0 over");
}

TEST(ForecastTest, NothingIsCoveredBehindAGap) {
    const VialBook book = follow({vial("V1", "2026-10-12T07:00Z", "0.50")}, {});
    auto doses = coming_each_day(3, "2026-10-13T07:00Z", "0.10");
    doses[1].ml = decimal("0.60");
    EXPECT_EQ(forecast_told(book, doses),
              "1 until 2026-10-13T07:00:00Z, then 2026-10-14T07:00:00Z, 0.39 over");
}

TEST(ForecastTest, WithoutAUsableVialTheFirstDoseIsUncovered) {
    const auto doses = coming_each_day(3, "2026-11-09T08:00Z", "0.20");
    const std::string none = "0 until none, then 2026-11-09T08:00:00Z, none over";
    EXPECT_EQ(forecast_told({}, doses), none);
    // Its days in use end at the very instant at which the dose is due.
    EXPECT_EQ(forecast_told(follow({vial("V1", "2026-10-12T07:00Z")}, {}), doses), none);
    EXPECT_EQ(forecast_told(follow({printed(vial("V1", "2026-11-01T07:00Z"), "2026-11-08")}, {}), doses),
              none);
    EXPECT_EQ(forecast_told(follow({vial("V1", "2026-11-01T07:00Z", std::nullopt)}, {}), doses), none);
    EXPECT_EQ(forecast_told(follow({vial("V1", "2026-11-01T07:00Z", "0.209999")}, {}), doses), none);
    EXPECT_EQ(forecast_told(follow({vial("V1", "2026-11-01T07:00Z")}, {dose("V1", "2026-11-01T08:00Z", "3")}),
                            doses),
              none);
}

TEST(ForecastTest, VialCoversADoseDueJustBeforeItsEnd) {
    const VialBook book = follow({vial("V1", "2026-10-12T07:00:01Z")}, {});
    EXPECT_EQ(forecast_told(book, coming_each_day(2, "2026-11-09T08:00Z", "0.20")),
              "1 until 2026-11-09T08:00:00Z, then 2026-11-10T08:00:00Z, 2.79 over");
}

TEST(ForecastTest, EndOfALaterVialIsKeptWhileAnEarlierOneIsInUse) {
    const VialBook book = follow(
        {vial("V1", "2026-10-12T07:00Z", "0.25"), printed(vial("V2", "2026-10-13T07:00Z"), "2026-10-15")},
        {});
    // The first vial is kept for the last dose, the only one that it can cover.
    auto doses = coming_each_day(3, "2026-10-14T23:00Z", "0.30");
    doses[2].ml = decimal("0.20");
    EXPECT_EQ(forecast_told(book, doses),
              "1 until 2026-10-14T23:00:00Z, then 2026-10-15T23:00:00Z, 2.69 over");
}

TEST(ForecastTest, NoDosesToComeNeedNothing) {
    EXPECT_EQ(forecast_told(fortnight_book(), {}), "0 until none, then none, none over");
}

TEST(ForecastTest, EachMedicineComesFromItsOwnVialsWithItsOwnLoss) {
    OpenedVial other = vial("T1", "2026-10-12T07:00Z", "0.50");
    other.medicine = "tinzaparin-20000";
    const std::vector<VialRulesOf> rules{{"tinzaparin-20000", {14, DayCount::from_opening, decimal("0.05")}}};
    const VialBook book = follow({vial("V1", "2026-10-12T07:00Z"), other}, {}, rules);
    EXPECT_EQ(forecast_told(book, coming_each_day(9, "2026-10-13T07:00Z", "0.20", "tinzaparin-20000"), rules),
              "2 until 2026-10-14T07:00:00Z, then 2026-10-15T07:00:00Z, 0 over");
    EXPECT_EQ(forecast_told(book, coming_each_day(9, "2026-10-13T07:00Z", "0.20", "unheard-of"), rules),
              "0 until none, then 2026-10-13T07:00:00Z, none over");
}

// Random households of few labels, so that labels are borne again and again.
class Households {
 public:
    explicit Households(unsigned seed) : random_(seed) {}

    int upto(int most) { return std::uniform_int_distribution<int>(0, most)(random_); }
    template <class T>
    T any_of(const std::vector<T>& choices) {
        return choices[static_cast<std::size_t>(upto(static_cast<int>(choices.size()) - 1))];
    }

    std::vector<OpenedVial> vials() {
        std::vector<OpenedVial> vials(static_cast<std::size_t>(upto(8)));
        for (OpenedVial& vial : vials) {
            vial.at = some_hour();
            vial.label = any_of<std::string>({"A", "B", "C"});
            vial.medicine = any_of<std::string>({"one", "one", "two"});
            if (upto(4) > 0) vial.volume_ml = Decimal(upto(3000), 3);
            if (upto(2) == 0) vial.expires = any_of<std::string>({"2026-10", "2026-11-15", "2027-09-30"});
        }
        std::ranges::sort(vials, {}, &OpenedVial::at);
        return vials;
    }

    std::vector<GivenDose> doses() {
        std::vector<GivenDose> doses(static_cast<std::size_t>(upto(40)));
        for (GivenDose& dose : doses) {
            dose.at = some_hour();
            dose.medicine = any_of<std::string>({"one", "one", "one", "two"});
            dose.size.ml = Decimal(upto(400), 3);
            dose.size.content = Decimal(upto(400), 1);
            if (upto(5) > 0) dose.vial = any_of<std::string>({"A", "B", "C", "D"});
        }
        std::ranges::sort(doses, {}, &GivenDose::at);
        return doses;
    }

 private:
    Instant some_hour() { return instant("2026-10-01T00:00Z") + 1h * upto(24 * 70); }

    std::mt19937 random_;
};

// The last vial of the dose's label opened by then, sought from the end.
std::optional<std::size_t> vial_of(const GivenDose& dose, const std::vector<OpenedVial>& vials) {
    for (std::size_t i = vials.size(); i-- > 0;) {
        if (dose.vial == vials[i].label && vials[i].at <= dose.at) return i;
    }
    return std::nullopt;
}

std::int64_t microlitres(const Decimal& ml) {
    return multiply(ml, Decimal(1000, 0)).value().coefficient();
}

TEST(VialsTest, VolumeOfEveryVialAddsUpWhateverIsDrawn) {
    constexpr unsigned seed = 797;
    SCOPED_TRACE("seed " + std::to_string(seed));
    Households households(seed);
    constexpr std::int64_t loss_ul = 10;
    for (int round = 0; round < 2000; ++round) {
        SCOPED_TRACE("round " + std::to_string(round));
        const auto vials = households.vials();
        const auto doses = households.doses();
        const VialBook book = follow(vials, doses);
        ASSERT_EQ(book.vials.size(), vials.size());
        std::vector<std::int64_t> draws(vials.size());
        std::vector<std::int64_t> injected(vials.size());
        std::map<VialConcern, std::size_t> noted;
        std::map<VialConcern, std::size_t> expected;
        for (const GivenDose& dose : doses) {
            const auto from = vial_of(dose, vials);
            const auto opens = [&](const OpenedVial& vial) {
                return vial.medicine == dose.medicine && vial.at <= dose.at;
            };
            if (!from) {
                if (dose.vial) ++expected[VialConcern::unknown];
                if (!dose.vial && std::ranges::any_of(vials, opens)) ++expected[VialConcern::not_named];
                continue;
            }
            const OpenedVial& vial = vials[*from];
            ++draws[*from];
            injected[*from] += microlitres(dose.size.ml);
            const std::int64_t taken = injected[*from] + loss_ul * draws[*from];
            if (vial.volume_ml && taken > microlitres(*vial.volume_ml)) ++expected[VialConcern::overdrawn];
            if (vial.medicine != dose.medicine) ++expected[VialConcern::other_medicine];
            if (dose.at >= end_of_use(vial.at, usual, zone("Europe/Dublin")))
                ++expected[VialConcern::after_in_use];
            if (vial.expires && dose.at >= *end_of_expiry(*vial.expires, zone("Europe/Dublin")))
                ++expected[VialConcern::after_expiry];
        }
        for (const VialNote& note : book.notes)
            ++noted[note.concern];
        ASSERT_EQ(noted, expected);
        for (std::size_t i = 0; i < vials.size(); ++i) {
            const VialState& state = book.vials[i];
            ASSERT_EQ(state.draws, draws[i]);
            ASSERT_EQ(microlitres(state.injected_ml), injected[i]);
            ASSERT_EQ(microlitres(state.lost_ml), loss_ul * draws[i]);
            ASSERT_EQ(state.left_ml.has_value(), vials[i].volume_ml.has_value());
            if (!state.left_ml) continue;
            const auto taken = add(state.injected_ml, state.lost_ml).value();
            ASSERT_EQ(add(taken, *state.left_ml), vials[i].volume_ml);
        }
    }
}

// Looks at every vial for every dose, in microlitres.
std::string forecast_plainly(const VialBook& book, const std::vector<ComingDose>& doses) {
    constexpr std::int64_t loss_ul = 10;
    std::vector<std::int64_t> left_ul;
    for (const VialState& vial : book.vials)
        left_ul.push_back(microlitres(vial.left_ml.value_or(Decimal(-1, 0))));
    Forecast found;
    for (const ComingDose& dose : doses) {
        bool is_covered = false;
        for (std::size_t i = 0; i < left_ul.size() && !is_covered; ++i) {
            const VialState& vial = book.vials[i];
            const std::int64_t after = left_ul[i] - microlitres(dose.ml) - loss_ul;
            is_covered = vial.medicine == dose.medicine && dose.due < vial.usable_until && after >= 0;
            if (!is_covered) continue;
            left_ul[i] = after;
            found.rest_ml = Decimal(after, 3).trimmed();
        }
        if (!is_covered) {
            found.first_uncovered = dose.due;
            return told(found);
        }
        ++found.doses_left;
        found.last_covered = dose.due;
    }
    return told(found);
}

TEST(ForecastTest, AgreesWithLookingAtEveryVialForEveryDose) {
    constexpr unsigned seed = 4711;
    SCOPED_TRACE("seed " + std::to_string(seed));
    Households households(seed);
    std::map<std::int64_t, int> lengths;
    for (int round = 0; round < 3000; ++round) {
        SCOPED_TRACE("round " + std::to_string(round));
        const VialBook book = follow(households.vials(),
                                     households.upto(1) == 0 ? households.doses() : std::vector<GivenDose>());
        std::vector<ComingDose> doses;
        for (const GivenDose& dose : households.doses())
            doses.push_back({dose.at, dose.medicine, dose.size.ml});
        const Forecast found = forecast(book, doses, {});
        ASSERT_EQ(told(found), forecast_plainly(book, doses));
        ++lengths[found.doses_left];
    }
    // The households are of many kinds.
    EXPECT_GT(lengths.size(), 20U);
}

}  // namespace
}  // namespace nightferry::care
