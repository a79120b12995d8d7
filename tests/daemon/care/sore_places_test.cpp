// Bruises that count until they have gone, and zones that rest because of lumps, as injections meet them.
#include "daemon/care/sore_places.hpp"

#include "tests/daemon/care/site_diary.hpp"

namespace nightferry::care {
namespace {

using namespace std::chrono_literals;
using namespace test;
using enum entry::FindingKind;
using testing::ElementsAre;
using testing::IsEmpty;

TEST(SorePlacesTest, BruiseReachesHalfItsLengthAndTheMargin) {
    const auto notes = [](const std::string& where) {
        return bruise_margin().seen(morning, bruise, "AL 6,0", "5").given(evening, where).notes();
    };
    EXPECT_THAT(notes("AL 9.5,0"), IsEmpty());
    EXPECT_THAT(notes("AL 9.499999,0"), ElementsAre("#1 in_bruise 3.500 < 3.5 look 1"));
    EXPECT_THAT(notes("TL 6,0"), IsEmpty());
    // Half of an odd last digit is still told apart.
    SiteDiary small = lenient().seen(morning, bruise, "AL 6,0", "0.000003").given(evening, "AL 6.000001,0");
    EXPECT_THAT(small.notes(), testing::SizeIs(1));
    small.doses[0].site = site("AL 6.000002,0");
    EXPECT_THAT(small.notes(), IsEmpty());
}

TEST(SorePlacesTest, BruiseAcrossTheMiddleCounts) {
    EXPECT_THAT(bruise_margin().seen(morning, haematoma, "AR -1,6", "4").given(evening, "AL 1,6").notes(),
                ElementsAre("#1 in_bruise 2.000 < 3 look 1"));
}

TEST(SorePlacesTest, BruiseThatNobodyMeasuredHasOnlyTheMargin) {
    EXPECT_THAT(bruise_margin().seen(morning, bruise, "TL 0,0").given(evening, "TL 0.5,0").notes(),
                ElementsAre("#1 in_bruise 0.500 < 1 look 1"));
    EXPECT_THAT(lenient().seen(morning, bruise, "TL 0,0").given(evening, "TL 0,0").notes(), IsEmpty());
}

TEST(SorePlacesTest, BruiseCountsAsLastLookedAtBeforeTheInjection) {
    SiteDiary diary = bruise_margin();
    diary.seen("2026-10-12T07:00Z", bruise, "TL 0,0", "6", "B1")
        .seen("2026-10-13T07:00Z", bruise, "TL 1,0", "2", "B1")
        .seen("2026-10-14T07:00Z", bruise, "TL 1,0", "gone", "B1");
    for (const char* at : {"2026-10-12T07:00Z", "2026-10-12T07:01Z", "2026-10-13T07:00Z", "2026-10-13T07:01Z",
                           "2026-10-14T07:00Z", "2026-10-14T07:01Z"})
        diary.given(at, "TL 0,0");
    EXPECT_THAT(diary.notes(), ElementsAre("#2 in_bruise 0.000 < 4 look 1", "#3 in_bruise 0.000 < 4 look 1",
                                           "#4 in_bruise 1.000 < 2 look 2", "#5 in_bruise 1.000 < 2 look 2"));
}

TEST(SorePlacesTest, NearestBruiseIsNamedAndOfEquallyNearOnesTheLatest) {
    SiteDiary diary = bruise_margin();
    diary.seen(morning, bruise, "TL -2,0", "6", "B1").seen(morning, bruise, "TL 2,0", "4", "B2");
    diary.seen(morning, bruise, "TL 1,0", "0.5").given(evening, "TL 0,0");
    EXPECT_THAT(diary.notes(), ElementsAre("#1 in_bruise 1.000 < 1.25 look 3"));
    diary.looks.pop_back();
    EXPECT_THAT(diary.notes(), ElementsAre("#1 in_bruise 2.000 < 3 look 2"));
}

TEST(SorePlacesTest, OneBruiseDoesNotHideAnotherWithoutLabels) {
    SiteDiary diary = bruise_margin();
    diary.seen("2026-10-12T07:00Z", bruise, "AL 6,0", "2")
        .seen("2026-10-12T07:01Z", bruise, "AL 9,0", "1")
        .seen("2026-10-13T07:00Z", bruise, "AL 6.5,0", "0")
        .given("2026-10-12T08:00Z", "AL 6,0")
        .given("2026-10-14T07:00Z", "AL 6,0")
        .given("2026-10-14T07:00Z", "AL 9,0");
    EXPECT_THAT(diary.notes(),
                ElementsAre("#1 in_bruise 0.000 < 2 look 1", "#3 in_bruise 0.000 < 1.5 look 2"));
}

TEST(SorePlacesTest, LookWithoutAPlaceEndsAllBruisesOfItsZoneThatHaveNoLabel) {
    SiteDiary diary = bruise_margin();
    diary.seen(morning, bruise, "TL 0,0", "2")
        .seen(morning, bruise, "TL 9,0", "2")
        .seen(morning, bruise, "TR 0,0", "2")
        .seen(morning, bruise, "TL 5,0", "2", "B1")
        .seen(evening, bruise, "TL", "gone");
    for (const char* where : {"TL 0,0", "TL 9,0", "TR 0,0", "TL 5,0"})
        diary.given(next_morning, where);
    EXPECT_THAT(diary.notes(), ElementsAre("#3 in_bruise 0.000 < 2 look 3", "#4 in_bruise 0.000 < 2 look 4"));
}

TEST(SorePlacesTest, OtherFindingsAreNoBruisesAndRestNothing) {
    SiteDiary diary = bruise_margin();
    for (const entry::FindingKind kind : {site_bleeding, redness, pain, swelling, itching, hives, other})
        diary.seen(morning, kind, "TL 0,0", "5");
    diary.seen(morning, nosebleed, "TL 0,0").looks.back().finding.site.reset();
    EXPECT_THAT(diary.given(evening, "TL 0,0").notes(), IsEmpty());
}

TEST(SorePlacesTest, LumpRestsItsWholeZoneFromItsFirstLookToTheEndOfADay) {
    SiteDiary diary = lenient();
    diary.seen("2026-10-20T17:30Z", lump, "TL 30,30", "1", "L1")
        .seen("2026-10-31T19:40Z", lump, "TL", "gone", "L1")
        .seen("2026-11-03T08:00Z", lump, "TL", "gone", "L1");
    for (const char* at : {"2026-10-20T17:29:59Z", "2026-10-20T17:30Z", "2026-10-31T19:40Z",
                           "2026-11-07T23:59:59Z", "2026-11-08T00:00Z"})
        diary.given(at, "TL 0,0").given(at, "TR 0,0").given(at, "AL 30,30");
    EXPECT_THAT(diary.notes(), ElementsAre("#4 resting look 1", "#7 resting look 2", "#10 resting look 2"));
}

TEST(SorePlacesTest, LumpFoundAgainRestsAgain) {
    SiteDiary diary = lenient();
    diary.seen("2026-10-01T07:00Z", hardening, "TL")
        .seen("2026-10-02T07:00Z", hardening, "TL", "0")
        .seen("2026-10-20T07:00Z", hardening, "TL", "1");
    for (const char* at :
         {"2026-10-09T22:59Z", "2026-10-09T23:00Z", "2026-10-20T06:59Z", "2026-12-24T07:00Z"})
        diary.given(at, "TL");
    EXPECT_THAT(diary.notes(), ElementsAre("#1 resting look 2", "#4 resting look 3"));
}

TEST(SorePlacesTest, ZoneRestsUntilEveryLumpInItHasGone) {
    SiteDiary diary = lenient();
    diary.seen("2026-10-01T07:00Z", lump, "TL", "1")
        .seen("2026-10-01T08:00Z", lump, "TL", "1", "L1")
        .seen("2026-10-02T07:00Z", lump, "TL", "gone")             // Ends the one without a label,
        .seen("2026-10-02T08:00Z", hardening, "TL", "gone")        // ends nothing,
        .seen("2026-10-02T09:00Z", lump, "TR", "gone", "L1")       // ends nothing in another zone,
        .seen("2026-10-10T07:00Z", swelling, "TL", "gone", "L1")   // is something else,
        .seen("2026-10-11T07:00Z", hardening, "TL", "gone", "L1")  // is the same lesion.
        .seen("2026-10-12T07:00Z", lump, "TR", "gone");
    for (const char* at : {"2026-10-10T07:00Z", "2026-10-18T22:59Z", "2026-10-18T23:00Z"})
        diary.given(at, "TL").given(at, "TR");
    EXPECT_THAT(diary.notes(), ElementsAre("#1 resting look 2", "#3 resting look 7"));
}

// In Beirut the clocks go forward at midnight of 29 March 2026 (IANA time zone database).
TEST(SorePlacesTest, RestEndsWithTheDayAtHome) {
    SiteDiary diary = lenient();
    diary.home = "Asia/Beirut";
    diary.seen("2026-03-18T07:00Z", lump, "TL", "1").seen("2026-03-20T22:30Z", lump, "TL", "0");
    diary.given("2026-03-28T21:59:59Z", "TL").given("2026-03-28T22:00Z", "TL");
    EXPECT_THAT(diary.notes(), ElementsAre("#1 resting look 2"));
    diary.home = "Europe/Dublin";
    EXPECT_THAT(diary.notes(), IsEmpty());
}

TEST(SorePlacesTest, RestWithoutDaysEndsWithTheDayOnWhichTheLumpHadGone) {
    SiteDiary diary = lenient();
    diary.rules.lump_rest = std::chrono::days{0};
    diary.seen(morning, lump, "TL", "1").seen(evening, lump, "TL", "0");
    diary.given("2026-10-12T22:59:59Z", "TL").given("2026-10-12T23:00Z", "TL");
    EXPECT_THAT(diary.notes(), ElementsAre("#1 resting look 2"));
}

TEST(SorePlacesTest, SecondLookAtTheSamePlaceReplacesTheFirst) {
    SiteDiary diary = bruise_margin();
    diary.seen(morning, bruise, "TL 1,1").seen(evening, bruise, "TL 1,1").given(next_morning, "TL 1,1");
    diary.seen(next_morning, bruise, "TL 1,1", "gone").given("2026-10-14T07:00Z", "TL 1,1");
    EXPECT_THAT(diary.notes(), ElementsAre("#1 in_bruise 0.000 < 1 look 2"));
}

TEST(SorePlacesTest, LabelThatIsGoneEndsTheBruiseAlsoAsAHaematomaAndAsNothingElse) {
    SiteDiary diary = bruise_margin();
    diary.seen(morning, bruise, "TL 1,1", "2", "B1").seen(morning, bruise, "TL 1,2", "4", "B2");
    diary.seen(evening, haematoma, "TL", "gone", "B1").seen(evening, swelling, "TL", "gone", "B2");
    diary.given(next_morning, "TL 1,1");
    EXPECT_THAT(diary.notes(), ElementsAre("#1 in_bruise 1.000 < 3 look 2"));
}

TEST(SorePlacesTest, OfSeveralLumpsTheOneLookedAtLastIsNamed) {
    SiteDiary diary = lenient();
    diary.seen(morning, lump, "TL", "1", "L2").seen(evening, lump, "TL", "1", "L1").given(next_morning, "TL");
    diary.seen(next_morning, lump, "TL", "1", "L2").given("2026-10-14T07:00Z", "TL");
    EXPECT_THAT(diary.notes(), ElementsAre("#1 resting look 3", "#2 resting look 3"));
    diary.looks.pop_back();
    EXPECT_THAT(diary.notes(), ElementsAre("#1 resting look 2", "#2 resting look 2"));
}

}  // namespace
}  // namespace nightferry::care
