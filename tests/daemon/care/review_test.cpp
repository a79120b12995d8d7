// The whole fortnight of the demo household, against numbers worked out by hand from its table of injections.
// The household is invented; limits are the defaults, whose bases are named in the headers.
#include "daemon/care/review.hpp"

#include "daemon/care/review_json.hpp"
#include "tests/daemon/care/fortnight.hpp"

namespace nightferry::care {
namespace {

using namespace std::chrono_literals;
using namespace test;
using testing::ElementsAre;
using testing::UnorderedElementsAre;
using Texts = std::vector<std::string>;

Plan plan() {
    Plan plan;
    plan.person = "juniper";
    plan.regimen = fortnight();
    plan.syringes["enoxaparin-100"] = {{Decimal(1, 2), Decimal(3, 1)}, false};
    plan.sample = SampleWindow{};
    return plan;
}

Review review(Instant known_at = long_after, const Plan& of = plan()) {
    static const std::vector<Revisions> entries = fortnight_entries();
    return review_of(of, household(), entries, {fortnight_from, fortnight_to}, known_at);
}

Review after_the_last_dose() {
    return review(instant("2026-11-01T23:59:59Z"));
}

// "08:00" of the first, "23 Oct 08:20" would be too long: the day and the time of a dose.
std::string dose_time(const Review& of, const EntryId& id) {
    for (const GivenDose& dose : of.known.doses) {
        if (dose.id == id) return to_text(dose.at).substr(5, 11);
    }
    return "?";
}

TEST(ReviewTest, FiguresOfTheWholePeriodAndItsWeeks) {
    const Review found = review();
    ASSERT_TRUE(found.figures);
    EXPECT_EQ(found.figures->taken, (Share{38, 39}));
    EXPECT_EQ(found.figures->slots_filled, (Share{37, 39}));
    ASSERT_EQ(found.weeks.size(), 3U);
    EXPECT_EQ(found.weeks[0].figures->slots_filled, (Share{11, 12}));
    EXPECT_EQ(found.weeks[1].figures->slots_filled, (Share{14, 14}));
    EXPECT_EQ(found.weeks[2].figures->slots_filled, (Share{12, 13}));
    EXPECT_EQ(to_text(found.weeks[1].period.to), "2026-10-26T00:00:00Z");
}

// What a slip in the arithmetic would give instead; each was worked out with the slip.
TEST(ReviewTest, FiguresAreNotThoseOfKnownMistakes) {
    const Adherence figures = *review().figures;
    EXPECT_NE(figures.slots_filled, (Share{37, 42})) << "held counted as missed";
    EXPECT_NE(figures.taken, (Share{39, 39})) << "a dose written down twice was counted";
    EXPECT_NE(figures.near_time, (Share{29, 39})) << "clock readings of two zones were compared";
    EXPECT_NE(figures.near_time, (Share{25, 39})) << "the schedule stood still when the clocks changed";
    EXPECT_NE(figures.contents.at("enoxaparin-100").given, Decimal(789, 0)) << "an amended amount was used";
    EXPECT_NE(figures.contents.at("enoxaparin-100").given, Decimal(706, 0))
        << "a real second injection was left out";
    EXPECT_NE(figures.days_as_ordered, (Share{19, 21})) << "an extra injection was left out of its day";
    EXPECT_NE(figures.intervals, (Share{30, 37})) << "gaps with a held slot in them were counted";
    EXPECT_NE(figures.longest_gap, 36h + 5min) << "gaps with a held slot in them were counted";
}

TEST(ReviewTest, SidesAndZonesOfTheInjections) {
    std::map<std::string, int> zones;
    for (const DoseRecord& dose : review().timeline.doses) {
        const entry::Site& site = dose.given.site;
        ++zones[std::string(site.region == entry::Region::abdomen ? "abdomen" : "thigh") +
                (site.side == entry::Side::left ? " left" : " right")];
    }
    EXPECT_EQ(zones,
              (std::map<std::string, int>{
                  {"abdomen left", 15}, {"abdomen right", 10}, {"thigh left", 4}, {"thigh right", 9}}));
}

TEST(ReviewTest, SevenThingsToNoteAtFourInjectionSites) {
    const Review found = review();
    Texts notes;
    for (const SiteNote& note : found.sites)
        notes.push_back(dose_time(found, note.dose) + " " + std::to_string(static_cast<int>(note.concern)) +
                        " " + (note.distance_cm ? note.distance_cm->to_string() : ""));
    const auto text = [](const char* when, SiteConcern concern, const char* distance) {
        return std::string(when) + " " + std::to_string(static_cast<int>(concern)) + " " + distance;
    };
    EXPECT_THAT(notes, UnorderedElementsAre(text("10-15T07:05", SiteConcern::close_to_recent, "1.414"),
                                            text("10-17T07:00", SiteConcern::close_to_recent, "2.000"),
                                            text("10-17T07:00", SiteConcern::in_bruise, "2.000"),
                                            text("10-17T07:00", SiteConcern::same_side, ""),
                                            text("10-23T07:20", SiteConcern::near_navel, "3.606"),
                                            text("10-26T20:45", SiteConcern::resting, ""),
                                            text("10-26T20:45", SiteConcern::same_side, "")));
}

TEST(ReviewTest, VialsAddUp) {
    const Review found = review();
    Texts vials;
    for (const VialState& vial : found.vials.vials)
        vials.push_back(vial.label + " " + std::to_string(vial.draws) + " draws, left " +
                        vial.left_ml->to_string() + ", " + vial.content_given.to_string() + " mg, " +
                        to_text(vial.discard_on));
    EXPECT_THAT(vials, ElementsAre("V1 15 draws, left 0.15, 270 mg, 2026-11-09",
                                   "V2 14 draws, left 0.1, 276 mg, 2026-11-18",
                                   "V3 9 draws, left 1.11, 180 mg, 2026-11-25"));
    EXPECT_TRUE(found.vials.notes.empty());
}

TEST(ReviewTest, OpenVialsLastUntilTheFourthOfNovember) {
    const Forecast coming = after_the_last_dose().forecast;
    EXPECT_EQ(coming.doses_left, 5);
    EXPECT_EQ(coming.last_covered, instant("2026-11-04T08:00Z"));
    EXPECT_EQ(coming.first_uncovered, instant("2026-11-04T20:00Z"));
    EXPECT_EQ(coming.rest_ml, Decimal(6, 2));
}

TEST(ReviewTest, VialWasFullerWhenADoseWasNotYetWrittenDown) {
    const auto left_in_third = [](std::string_view known_at) {
        return review(instant(known_at)).vials.vials.at(2).left_ml;
    };
    EXPECT_EQ(left_in_third("2026-11-01T08:59Z"), Decimal(153, 2));
    EXPECT_EQ(left_in_third("2026-11-01T09:03Z"), Decimal(132, 2));
}

// V1 lasts 7 whole days at twice 0.19 mL a day, V2 and V3 7 at twice 0.21 mL.
TEST(ReviewTest, SupplyIsInWholeDaysOfTheVialsOpened) {
    EXPECT_EQ(review().supply.covered, (Share{19, 21}));
    EXPECT_EQ(review().supply.possession, (Share{21, 21}));
}

TEST(ReviewTest, TimeSinceTheLastDose) {
    const auto since = [](std::string_view at) {
        const SinceDose found = since_dose_in(review(instant(at)), plan(), instant(at));
        return found.elapsed.value_or(0us);
    };
    EXPECT_EQ(since("2026-10-25T07:00Z"), 13h + 30min);
    EXPECT_EQ(since("2026-10-28T08:30Z"), 27min);
    EXPECT_EQ(since("2026-10-28T12:00Z"), 2h + 40min);
    EXPECT_EQ(since("2026-10-30T10:00Z"), 1h + 55min);
    EXPECT_EQ(since("2026-11-01T23:59:59Z"), 3h + 53min + 59s);
}

TEST(ReviewTest, NightOfTheClockChangeIsAnHourLonger) {
    const Review found = review();
    const auto& doses = found.timeline.doses;
    ASSERT_EQ(doses.size(), 38U);
    EXPECT_EQ(doses[23].given.at - doses[22].given.at, 14h + 40min);
}

TEST(ReviewTest, UnreadableEntryLeavesTheTimeSinceTheLastDoseUnsettled) {
    Known known = fortnight_known();
    const Instant at = instant("2026-10-20T11:10Z");
    const auto settled = [&](const Known& of) {
        return since_dose_in(review_of_known(plan(), household(), of, {at, at}, long_after), plan(), at)
            .is_settled();
    };
    EXPECT_TRUE(settled(known));
    known.unreadable.push_back(known.doses[0].id);
    EXPECT_FALSE(settled(known));
}

TEST(ReviewTest, ChangeOfWeightIsToldInPercent) {
    Plan sharp = plan();
    sharp.flags.weight_percent = Decimal(1, 0);
    Texts changes;
    for (const Flag& flag : review(instant("2026-10-27T00:00Z"), sharp).flags) {
        if (flag.kind == FlagKind::weight_change)
            changes.push_back(flag.reason.substr(flag.reason.rfind(',') + 2));
    }
    EXPECT_THAT(changes, ElementsAre("2.72 %."));
}

TEST(ReviewTest, AmountsLieOnMarksOfTheSyringe) {
    const Review found = review();
    ASSERT_EQ(found.doses.size(), 38U);
    for (const DoseFacts& facts : found.doses) {
        ASSERT_TRUE(facts.syringe);
        EXPECT_TRUE(facts.syringe->mark == Decimal(18, 0) || facts.syringe->mark == Decimal(20, 0));
        EXPECT_FALSE(facts.syringe->is_beyond_capacity);
    }
}

Texts flags_of(const Review& of, Level least) {
    Texts texts;
    for (const Flag& flag : of.flags) {
        if (flag.level >= least)
            texts.push_back(to_text(flag.about).substr(5, 11) + " " + std::string(word_for(flag.kind)));
    }
    return texts;
}

TEST(ReviewTest, FlagsThatStayAfterTheFortnight) {
    EXPECT_THAT(flags_of(after_the_last_dose(), Level::contact),
                ElementsAre("10-28T09:20 extra_dose", "10-27T08:00 no_record", "10-18T19:00 missed_dose"));
}

TEST(ReviewTest, FlagsComeAndGoWithWhatIsKnown) {
    const auto flags_at = [](std::string_view known_at) {
        return flags_of(review(instant(known_at)), Level::contact);
    };
    EXPECT_THAT(flags_at("2026-10-16T06:42Z"), ElementsAre("10-16T06:40 growing_lesion"));
    EXPECT_THAT(flags_at("2026-10-17T06:43Z"),
                ElementsAre("10-17T06:40 growing_lesion", "10-17T06:40 large_lesion"));
    EXPECT_THAT(
        flags_at("2026-10-17T19:30Z"),
        ElementsAre("10-17T19:05 possible_double", "10-17T06:40 growing_lesion", "10-17T06:40 large_lesion"));
    EXPECT_THAT(flags_at("2026-10-17T20:30Z"),
                ElementsAre("10-17T06:40 growing_lesion", "10-17T06:40 large_lesion"));
    // Typed 0.81 where 0.18 was ordered, and amended.
    EXPECT_THAT(flags_at("2026-10-19T07:10Z"),
                ElementsAre("10-19T06:55 amount_far_from_order", "10-18T19:00 missed_dose"));
    EXPECT_THAT(flags_at("2026-10-19T07:20Z"), ElementsAre("10-18T19:00 missed_dose"));
}

TEST(ReviewTest, NosebleedOfSixMinutesIsANoteUnlessTheClinicSaysOtherwise) {
    const auto nosebleed = [](const Plan& of) {
        for (const Flag& flag : review(instant("2026-10-25T02:00Z"), of).flags) {
            if (flag.reason.starts_with("Nosebleed")) return std::string(word_for(flag.level));
        }
        return std::string("none");
    };
    EXPECT_EQ(nosebleed(plan()), "note");
    Plan five = plan();
    five.flags.nosebleed = 5min;
    EXPECT_EQ(nosebleed(five), "contact");
    five.flags.levels[FlagKind::nosebleed] = Level::urgent;
    EXPECT_EQ(nosebleed(five), "urgent");
    five.flags.levels[FlagKind::nosebleed] = std::nullopt;
    EXPECT_EQ(nosebleed(five), "none");
}

// By zone: the injections of the fortnight as counted by hand, and how many of them are recent, with the
// places of the newest of each.
TEST(ReviewTest, ItsJsonTellsWhoseItIsAndWhereInjectionsLie) {
    fhir::json::Document answer;
    put_review(answer.root(), after_the_last_dose(), household());
    EXPECT_EQ(answer.root().string_at("name"), "Juniper Exampleton-Test");
    EXPECT_EQ(answer.root().string_at("hub"), "test-home");
    Texts zones;
    for (const auto& zone : answer.root().find("sites")->items_at("zones")) {
        const auto recent = zone.items_at("recent");
        EXPECT_EQ(std::to_string(std::distance(recent.begin(), recent.end())),
                  zone.find("recent_injections")->text());
        std::string newest;
        for (const auto& one : recent)
            newest = std::string(one.find("x_cm")->text()) + "," + std::string(one.find("y_cm")->text());
        zones.push_back(std::string(zone.string_at("side")) + " " + std::string(zone.string_at("region")) +
                        " " + std::string(zone.find("injections")->text()) + ", " + newest);
    }
    EXPECT_THAT(zones, ElementsAre("left abdomen 15, 8.5,2.5", "right abdomen 10, -6,-2.5",
                                   "left thigh 4, 2.5,2.5", "right thigh 9, 0,5"));
}

TEST(ReviewTest, PeriodWithoutAnyOrderHasNothingToCalculate) {
    Plan empty = plan();
    empty.regimen.orders.clear();
    const Review found = review(long_after, empty);
    EXPECT_EQ(found.figures->slots_filled.percent(), std::nullopt);
    EXPECT_EQ(found.figures->extra, 38);
    EXPECT_TRUE(flags_of(found, Level::contact).empty());
}

}  // namespace
}  // namespace nightferry::care
