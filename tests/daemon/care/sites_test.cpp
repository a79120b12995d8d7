// Injections beside distances, sides and places that rest. The demo's fortnight was judged by hand; the other
// numbers are right triangles and their neighbours.
#include "daemon/care/sites.hpp"

#include "tests/daemon/care/site_diary.hpp"

namespace nightferry::care {
namespace {

using namespace std::chrono_literals;
using namespace test;
using enum entry::FindingKind;
using testing::ElementsAre;
using testing::IsEmpty;

SiteDiary spaced() {
    SiteDiary diary = lenient();
    diary.rules.spacing_cm = Decimal(25, 1);
    return diary;
}

TEST(SitesTest, FortnightHasSevenNotesOnFourInjections) {
    SiteDiary diary = fortnight_diary();
    ASSERT_EQ(diary.doses.size(), 38U);
    EXPECT_THAT(diary.notes(), ElementsAre("#7 close_to_recent 1.414 < 2.5 #3",  //
                                           "#9 close_to_recent 2.000 < 2.5 #4",  //
                                           "#9 same_side #8",                    //
                                           "#9 in_bruise 2.000 < 3.5 look 4",    //
                                           "#20 near_navel 3.606 < 5",           //
                                           "#27 same_side #26",                  //
                                           "#27 resting look 12"));
    EXPECT_EQ(diary.looks[3].at, instant("2026-10-17T06:40Z"));
    EXPECT_EQ(diary.looks[11].at, instant("2026-10-26T18:30Z"));
}

TEST(SitesTest, NothingGivenGivesNoNotes) {
    EXPECT_THAT(SiteDiary{}.notes(), IsEmpty());
    EXPECT_THAT(SiteDiary{}.seen(morning, bruise, "AL 6,0", "5").notes(), IsEmpty());
}

TEST(SitesTest, NavelMarginIsExact) {
    const auto notes = [](const std::string& where) { return SiteDiary{}.given(morning, where).notes(); };
    EXPECT_THAT(notes("AL 3,4"), IsEmpty());
    EXPECT_THAT(notes("AL 3,3.999999"), ElementsAre("#1 near_navel 5.000 < 5"));
    EXPECT_THAT(notes("AR -0,0"), ElementsAre("#1 near_navel 0.000 < 5"));
    EXPECT_THAT(notes("TL 0,0"), IsEmpty());
}

TEST(SitesTest, SpacingIsExact) {
    // 1.5 and 2 make 2.5; in binary 0.1 + 0.2 would not make 0.3.
    EXPECT_THAT(spaced().given(morning, "TL 0.1,0.2").given(evening, "TL 1.6,2.2").notes(), IsEmpty());
    EXPECT_THAT(spaced().given(morning, "TL 0.1,0.2").given(evening, "TL 1.6,2.199999").notes(),
                ElementsAre("#2 close_to_recent 2.500 < 2.5 #1"));
}

TEST(SitesTest, SpacingLooksSevenTimesTwentyFourHoursBack) {
    // The clocks go back in between.
    EXPECT_THAT(spaced().given("2026-10-20T07:00Z", "TL 1,1").given("2026-10-27T07:00Z", "TL 1,1").notes(),
                ElementsAre("#2 close_to_recent 0.000 < 2.5 #1"));
    EXPECT_THAT(spaced().given("2026-10-20T07:00Z", "TL 1,1").given("2026-10-27T07:00:01Z", "TL 1,1").notes(),
                IsEmpty());
}

TEST(SitesTest, NearestRecentInjectionIsNamedAndOfEquallyNearOnesTheLatest) {
    EXPECT_THAT(spaced()
                    .given("2026-10-12T07:00Z", "TL 10,1")
                    .given("2026-10-13T07:00Z", "TL 10,-1")
                    .given("2026-10-14T07:00Z", "TL 10,9")
                    .given("2026-10-15T07:00Z", "TL 10,11")
                    .given("2026-10-16T07:00Z", "TL 10,0")
                    .notes(),
                ElementsAre("#2 close_to_recent 2.000 < 2.5 #1", "#4 close_to_recent 2.000 < 2.5 #3",
                            "#5 close_to_recent 1.000 < 2.5 #2"));
}

TEST(SitesTest, InjectionsAtOneTimeStandInTheirOrder) {
    EXPECT_THAT(spaced().given(morning, "TL 0,0").given(morning, "TL 0,1").notes(),
                ElementsAre("#2 close_to_recent 1.000 < 2.5 #1"));
}

TEST(SitesTest, AbdomenIsOneGridAndTheOthersHaveOnePerSide) {
    EXPECT_THAT(spaced().given(morning, "AL 1,6").given(evening, "AR -1,6").notes(),
                ElementsAre("#2 close_to_recent 2.000 < 2.5 #1"));
    for (const char* region : {"T", "U", "B", "W"}) {
        const std::string left = std::string(region) + "L 0,1";
        const std::string right = std::string(region) + "R 0,1";
        EXPECT_THAT(spaced().given(morning, left).given(evening, right).notes(), IsEmpty()) << region;
        EXPECT_THAT(spaced().given(morning, left).given(evening, left).notes(), testing::SizeIs(1)) << region;
    }
    EXPECT_THAT(spaced().given(morning, "TL 6,0").given(evening, "AL 6,0").notes(), IsEmpty());
}

TEST(SitesTest, SidesAreThoseOfTheInjectionBeforeWhateverTheRegion) {
    SiteDiary diary = lenient();
    diary.rules.alternate_sides = true;
    diary.given(morning, "AL 6,0")
        .given(evening, "TL 0,0")
        .given(next_morning, "TR")
        .given(next_morning, "AL");
    EXPECT_THAT(diary.notes(), ElementsAre("#2 same_side #1"));
    diary.rules.alternate_sides = false;
    EXPECT_THAT(diary.notes(), IsEmpty());
}

TEST(SitesTest, ExcludedPlacesAreCirclesOrZones) {
    SiteDiary diary = lenient();
    diary.rules.exclusions = {{site("AR -1,7"), Decimal(2, 0), "a scar"},
                              {site("UL"), std::nullopt, "a port"},
                              {site("BR 3,3"), std::nullopt, "a sore"},
                              {site("WL"), Decimal(2, 0), "a tattoo"}};
    for (const char* where :
         {"AL 1,7", "AL 0.999999,7", "AR -1,7", "AR", "TR -1,7", "UL 9,9", "UR 9,9", "BR", "WL 40,40"})
        diary.given(morning, where);
    EXPECT_THAT(diary.notes(), ElementsAre("#2 excluded 2.000 < 2 (a scar)", "#3 excluded 0.000 < 2 (a scar)",
                                           "#4 not_assessable", "#6 excluded (a port)",
                                           "#8 excluded (a sore)", "#9 excluded (a tattoo)"));
}

TEST(SitesTest, EveryExcludedPlaceIsNamed) {
    SiteDiary diary = lenient();
    diary.rules.exclusions = {{site("AL 7,7"), Decimal(3, 0), "a scar"},
                              {site("AL"), std::nullopt, "a rash"}};
    EXPECT_THAT(diary.given(morning, "AL 7,8").notes(),
                ElementsAre("#1 excluded 1.000 < 3 (a scar)", "#1 excluded (a rash)"));
}

TEST(SitesTest, OnlyNamedRegionsAreExpected) {
    SiteDiary diary =
        lenient().given(morning, "AL 6,0").given(evening, "TR 0,0").given(next_morning, "UL 0,0");
    EXPECT_THAT(diary.notes(), IsEmpty());
    diary.rules.regions = {entry::Region::thigh, entry::Region::abdomen};
    EXPECT_THAT(diary.notes(), ElementsAre("#3 other_region"));
}

TEST(SitesTest, DoseWithoutCoordinatesIsNotAssessableOnce) {
    SiteDiary diary;
    diary.seen(morning, bruise, "TL").given(evening, "TL").given(evening, "TR 0,0").given(next_morning, "TL");
    EXPECT_THAT(diary.notes(), ElementsAre("#1 not_assessable", "#3 not_assessable"));
}

TEST(SitesTest, RecentDoseOfTheZoneWithoutCoordinatesMakesSpacingNotAssessable) {
    SiteDiary diary = spaced();
    diary.given("2026-10-12T07:00Z", "AL")
        .given("2026-10-13T07:00Z", "AR -9,0")
        .given("2026-10-14T07:00Z", "AL 9,0")
        .given("2026-10-19T07:00:01Z", "AL 9,9");
    EXPECT_THAT(diary.notes(), ElementsAre("#1 not_assessable", "#3 not_assessable #1"));
}

TEST(SitesTest, BruiseOfTheZoneWithoutCoordinatesMakesSpacingNotAssessable) {
    SiteDiary diary = bruise_margin();
    diary.seen(morning, bruise, "AL", "3")
        .given(evening, "AL 6,0")
        .given(evening, "AR -6,0")
        .given(evening, "TL");
    EXPECT_THAT(diary.notes(), ElementsAre("#1 not_assessable look 1"));
    diary.looks[0].finding.site = site("TL 0,0");
    EXPECT_THAT(diary.notes(), ElementsAre("#3 not_assessable look 1"));
}

TEST(SitesTest, NobodyAsksForCoordinatesWhenNoRuleNeedsThem) {
    EXPECT_THAT(lenient().given(morning, "AL").given(evening, "AL 6,0").notes(), IsEmpty());
    SiteDiary navel = lenient();
    navel.rules.navel_margin_cm = Decimal(5, 0);
    EXPECT_THAT(navel.given(morning, "TL").given(evening, "AR").notes(), ElementsAre("#2 not_assessable"));
}

TEST(SitesTest, CatheterSilencesSpacingAndSidesAndNothingElse) {
    SiteDiary diary;
    diary.rules.catheters = {{instant("2026-10-20T07:00Z"), std::nullopt},
                             {instant("2026-10-12T19:00Z"), instant("2026-10-13T19:00Z")}};
    for (const char* at : {"2026-10-12T18:59:59Z", "2026-10-12T19:00Z", "2026-10-13T18:59:59Z",
                           "2026-10-13T19:00Z", "2026-10-20T07:00Z", "2027-10-20T07:00Z"})
        diary.given(at, "AL 3,2");
    diary.given("2027-10-21T07:00Z", "AL");
    EXPECT_THAT(diary.notes(),
                ElementsAre("#1 near_navel 3.606 < 5", "#2 near_navel 3.606 < 5", "#3 near_navel 3.606 < 5",
                            "#4 near_navel 3.606 < 5", "#4 close_to_recent 0.000 < 2.5 #3", "#4 same_side #3",
                            "#5 near_navel 3.606 < 5", "#6 near_navel 3.606 < 5"));
}

TEST(SitesTest, OneOfSeveralCathetersIsEnough) {
    SiteDiary diary = spaced();
    diary.rules.catheters = {{instant("2026-10-12T07:00Z"), instant("2026-10-15T07:00Z")},
                             {instant("2026-10-13T07:00Z"), instant("2026-10-14T07:00Z")}};
    diary.given("2026-10-14T19:00Z", "TL 0,0").given("2026-10-14T20:00Z", "TL 0,0");
    EXPECT_THAT(diary.notes(), IsEmpty());
    std::swap(diary.rules.catheters[0].until, diary.rules.catheters[1].until);
    EXPECT_THAT(diary.notes(), IsEmpty());
    diary.rules.catheters.pop_back();
    EXPECT_THAT(diary.notes(), ElementsAre("#2 close_to_recent 0.000 < 2.5 #1"));
}

TEST(SitesTest, LatestOfThoseWithoutCoordinatesIsNamed) {
    SiteDiary diary = spaced();
    diary.seen(morning, bruise, "TR", "1", "B1").seen(morning, bruise, "TR", "1", "B2");
    diary.given(morning, "TL")
        .given(evening, "TL")
        .given(next_morning, "TL 0,0")
        .given(next_morning, "TR 0,0");
    EXPECT_THAT(diary.notes(), ElementsAre("#1 not_assessable", "#2 not_assessable", "#3 not_assessable #2",
                                           "#4 not_assessable look 2"));
}

TEST(SitesTest, LimitsOfZeroSwitchRulesOff) {
    SiteDiary diary = lenient();
    for (const char* at : {"2026-10-12T07:00Z", "2026-10-12T19:00Z"})
        diary.given(at, "AL 0,0");
    diary.rules.exclusions = {{site("AL 0,0"), Decimal(), "nothing"}};
    diary.rules.catheters = {{diary.doses[0].at, diary.doses[0].at}};
    EXPECT_THAT(diary.notes(), IsEmpty());
    diary.rules.spacing_cm = Decimal(-3, 0);
    diary.rules.navel_margin_cm = diary.rules.bruise_margin_cm = Decimal(-3, 0);
    diary.seen("2026-10-11T07:00Z", bruise, "AL 0,0", "1");
    EXPECT_THAT(diary.notes(), IsEmpty());
}

TEST(SitesTest, NotesOfOneDoseComeInOneOrder) {
    SiteDiary diary;
    diary.rules.exclusions = {{site("AL"), std::nullopt, "a rash"}};
    diary.rules.regions = {entry::Region::thigh};
    diary.seen(morning, lump, "AL")
        .seen(morning, bruise, "AL 1,0", "1")
        .seen(morning, haematoma, "AL", "", "H");
    diary.given(evening, "AL 1,0").given(next_morning, "AL 1,0.5");
    const auto notes = diary.notes();
    EXPECT_THAT(std::vector(notes.end() - 8, notes.end()),
                ElementsAre("#2 near_navel 1.118 < 5", "#2 close_to_recent 0.500 < 2.5 #1", "#2 same_side #1",
                            "#2 in_bruise 0.500 < 1.5 look 2", "#2 resting look 1", "#2 excluded (a rash)",
                            "#2 other_region", "#2 not_assessable look 3"));
}

}  // namespace
}  // namespace nightferry::care
