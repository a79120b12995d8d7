// Bruises and lumps over time. Areas were worked out by hand from pi/4 times length times width; that a
// haematoma of 25 cm2 is worth reporting comes from trials of anticoagulants (BMC Cardiovasc Disord
// 2013;13:16, table 2), the limits of growth are common practice, no source. The demo's entries are invented.
#include "daemon/care/lesions.hpp"

#include <random>

#include "tests/daemon/care/fortnight.hpp"

namespace nightferry::care {
namespace {

using namespace std::chrono_literals;
using namespace test;
using entry::FindingKind;
using entry::Region;
using entry::Side;
using testing::ElementsAre;
using testing::IsEmpty;
using Texts = std::vector<std::string>;
using Lesions = std::vector<Lesion>;

const Instant start = instant("2026-10-12T07:00Z");

std::optional<Decimal> cm(std::string_view text) {
    return text.empty() ? std::nullopt : Decimal::parse(text);
}

EntryId id(std::string_view name) {
    return NameSpace("test").id_for(name);
}

entry::Site at(std::string_view x, std::string_view y, Side side = Side::left) {
    return {Region::abdomen, side, cm(x), cm(y)};
}

// One look at the bruise B1; a length of 0 says that it has gone.
Look bruise(Instant when, std::string_view length, std::string_view width = "") {
    entry::Finding finding;
    finding.what = FindingKind::bruise;
    finding.length_cm = cm(length);
    finding.width_cm = cm(width);
    finding.present = !finding.length_cm || !finding.length_cm->is_zero();
    finding.site = at("", "");
    finding.lesion = "B1";
    return {id(to_text(when)), when, finding};
}

// Looks at B1 a day apart: "1.5x1.0", "1.5", "" without measures, "0" when gone.
std::vector<Look> days_of(const Texts& sizes) {
    std::vector<Look> looks;
    for (const std::string& size : sizes) {
        const auto cross = size.find('x');
        looks.push_back(bruise(start + 24h * looks.size(), size.substr(0, cross),
                               cross == std::string::npos ? "" : size.substr(cross + 1)));
    }
    return looks;
}

Lesions followed(const std::vector<Look>& looks, const std::vector<GivenDose>& doses = {},
                 const LesionLimits& limits = {}) {
    return follow_lesions(looks, doses, limits);
}

// "13.744 x1.46 growing again, large"
std::string told(const Assessment& one) {
    constexpr const char* names[] = {"first", "growing", "shrinking", "steady", "resolved", "not measured"};
    std::string text = one.area_cm2 ? one.area_cm2->to_string() + " " : "";
    if (one.ratio) text += "x" + one.ratio->to_string() + " ";
    text += names[static_cast<int>(one.trend)];
    return text + (one.persistent_growth ? " again" : "") + (one.is_large ? ", large" : "");
}

Texts told(const Lesion& lesion) {
    Texts texts;
    for (const Assessment& one : lesion.assessments)
        texts.push_back(told(one));
    return texts;
}

// Of looks that make one series.
Texts course(const Texts& sizes, const LesionLimits& limits = {}) {
    const Lesions lesions = followed(days_of(sizes), {}, limits);
    EXPECT_EQ(lesions.size(), 1U);
    return lesions.empty() ? Texts{} : told(lesions.front());
}

std::string last_of(const Texts& sizes, const LesionLimits& limits = {}) {
    return course(sizes, limits).back();
}

std::string area(std::string_view length, std::string_view width) {
    const auto found = ellipse_area(*Decimal::parse(length), *Decimal::parse(width));
    return found ? found->to_string() : "none";
}

TEST(LesionsTest, AreasAreThoseOfEllipses) {
    EXPECT_EQ(area("5.0", "5.0"), "19.635");
    EXPECT_EQ(area("6.0", "5.4"), "25.447");
    EXPECT_EQ(area("6.4", "5.0"), "25.133");
    EXPECT_EQ(area("100", "100"), "7853.982");
    EXPECT_EQ(area("2", "0"), "0.000");
    // The thousandths turn at 0.000636619..., half of one divided by pi/4.
    EXPECT_EQ(area("0.000636", "1"), "0.000");
    EXPECT_EQ(area("0.000637", "1"), "0.001");
}

TEST(LesionsTest, AreasWithTooManyDigitsAreNone) {
    EXPECT_EQ(area("127323954.473400", "10"), "999999999.999");
    EXPECT_EQ(area("127323954.473516", "10"), "none");  // Rounded up, it has a digit more.
    EXPECT_EQ(area("999999999.999999", "999999999.999999"), "none");
    EXPECT_EQ(area("-1", "1"), "none");
    EXPECT_EQ(area("1", "-1"), "none");
}

// Two convergents of pi's continued fraction enclose it: 103993/33102 and 104348/33215.
TEST(LesionsTest, AreasAreWithinHalfAThousandthOfTheTruth) {
    __extension__ using Wide = __int128;
    constexpr unsigned seed = 20261012;
    SCOPED_TRACE(seed);
    std::mt19937 chance(seed);
    std::uniform_int_distribution<std::int64_t> millionths(0, 100'000'000);
    for (int i = 0; i < 20'000; ++i) {
        const std::int64_t length = millionths(chance);
        const std::int64_t width = millionths(chance);
        const Wide thousandths = ellipse_area(Decimal(length, 6), Decimal(width, 6)).value().coefficient();
        const Wide twice = static_cast<Wide>(length) * width * 2;
        EXPECT_GE((2 * thousandths + 1) * 1'000'000'000, twice * 103'993 / (4 * 33'102));
        EXPECT_LE((2 * thousandths - 1) * 1'000'000'000, twice * 104'348 / (4 * 33'215) + 1);
    }
}

TEST(LesionsTest, BruiseOfTheDemoGrowsAndGoes) {
    const Known known = fortnight_known();
    const Lesions lesions = follow_lesions(known.looks, known.doses, {});
    ASSERT_EQ(lesions.size(), 2U);
    const Lesion& b1 = lesions[0];
    EXPECT_EQ(b1.label, "B1");
    EXPECT_EQ(b1.what, FindingKind::bruise);
    EXPECT_EQ(b1.site, at("-6", "2.5", Side::right));
    EXPECT_THAT(told(b1), ElementsAre("1.178 first", "3.927 x3.33 growing", "9.425 x2.40 growing again",
                                      "13.744 x1.46 growing again, large", "4.712 x0.34 shrinking",
                                      "0.785 x0.17 shrinking", "0.000 x0.00 resolved"));
    EXPECT_EQ(b1.first_seen, instant("2026-10-14T06:50Z"));
    EXPECT_EQ(b1.resolved.value() - b1.first_seen, 8 * 24h + 23h + 50min);
    EXPECT_TRUE(b1.dose_is_stated);
    EXPECT_EQ(b1.dose_at, instant("2026-10-13T21:15Z"));
    EXPECT_EQ(*b1.resolved - *b1.dose_at, 9 * 24h + 9h + 25min);
}

TEST(LesionsTest, LumpOfTheDemoHasLengthsAndNoAreas) {
    const Known known = fortnight_known();
    const Lesions lesions = follow_lesions(known.looks, known.doses, {});
    ASSERT_EQ(lesions.size(), 2U);
    const Lesion& l1 = lesions[1];
    EXPECT_EQ(l1.label, "L1");
    EXPECT_EQ(l1.what, FindingKind::lump);
    EXPECT_EQ(l1.site, (entry::Site{Region::thigh, Side::left, {}, {}}));
    EXPECT_THAT(told(l1), ElementsAre("not measured", "not measured", "not measured", "not measured",
                                      "not measured", "0.000 resolved"));
    EXPECT_EQ(l1.assessments[1].length_cm, Decimal(15, 1));
    EXPECT_EQ(l1.first_seen, instant("2026-10-20T17:30Z"));
    EXPECT_EQ(l1.resolved, instant("2026-10-31T19:40Z"));
    EXPECT_EQ(l1.dose, std::nullopt);
}

TEST(LesionsTest, WhatWasNotKnownYetIsNotThere) {
    const Known known = fortnight_known(instant("2026-10-17T06:41Z"));
    const Lesions lesions = follow_lesions(known.looks, known.doses, {});
    ASSERT_EQ(lesions.size(), 1U);
    EXPECT_EQ(lesions[0].assessments.size(), 3U);
    EXPECT_EQ(lesions[0].resolved, std::nullopt);
}

TEST(LesionsTest, GrowingIsByAQuarterAtLeast) {
    EXPECT_EQ(last_of({"4x2", "4x2.5"}), "7.854 x1.25 growing");
    EXPECT_EQ(last_of({"4x2", "4x2.499999"}), "7.854 x1.25 steady");
    EXPECT_EQ(last_of({"4x2", "4x2"}), "6.283 x1.00 steady");
}

// A square centimetre more than 1.0 x 1.0 is 2.2732395... x 1.0; both areas round to 1.785.
TEST(LesionsTest, GrowingIsByASquareCentimetreAtLeast) {
    EXPECT_EQ(last_of({"1x1", "2.273240x1"}), "1.785 x2.27 growing");
    EXPECT_EQ(last_of({"1x1", "2.273239x1"}), "1.785 x2.27 steady");
    EXPECT_EQ(last_of({"2x2", "2.5x2"}), "3.927 x1.25 steady");
}

TEST(LesionsTest, ShrinkingIsToFourFifthsAtMost) {
    EXPECT_EQ(last_of({"5x2", "4x2"}), "6.283 x0.80 shrinking");
    EXPECT_EQ(last_of({"4x2.5", "3.2x2.500001"}), "6.283 x0.80 steady");
}

// A look in between at which nobody measured changes nothing.
TEST(LesionsTest, PersistentGrowthIsTwoInARow) {
    EXPECT_THAT(course({"1x1", "2x2", "2x2", "3x3", "4x4"}),
                ElementsAre("0.785 first", "3.142 x4.00 growing", "3.142 x1.00 steady", "7.069 x2.25 growing",
                            "12.566 x1.78 growing again"));
    EXPECT_THAT(
        course({"1x1", "2x2", "3", "4x4"}),
        ElementsAre("0.785 first", "3.142 x4.00 growing", "not measured", "12.566 x4.00 growing again"));
}

TEST(LesionsTest, LargeIsByLengthOrUnroundedArea) {
    EXPECT_EQ(last_of({"4.999999x4.9"}), "19.242 first");
    EXPECT_EQ(last_of({"5.0"}), "not measured, large");
    LesionLimits by_area;
    by_area.large_length_cm = Decimal(10, 0);
    EXPECT_EQ(last_of({"6.0x5.4"}, by_area), "25.447 first, large");
    EXPECT_EQ(last_of({"6.366198x5"}, by_area), "25.000 first, large");
    EXPECT_EQ(last_of({"6.366197x5"}, by_area), "25.000 first");
}

TEST(LesionsTest, WhatNobodyMeasuredHasNoNumbers) {
    EXPECT_THAT(course({"", "2", "1x1", "", "1x1", "1x1"}),
                ElementsAre("not measured", "not measured", "0.785 first", "not measured",
                            "0.785 x1.00 steady", "0.785 x1.00 steady"));
}

TEST(LesionsTest, LineWithoutWidthHasAnAreaOfZero) {
    EXPECT_THAT(course({"3x0", "3x0", "3x1", "3x0"}),
                ElementsAre("0.000 first", "0.000 steady", "2.356 growing", "0.000 x0.00 shrinking"));
}

TEST(LesionsTest, WhatComesBackIsANewSeries) {
    const Lesions lesions = followed(days_of({"2x2", "0", "0", "1x1", "0"}));
    ASSERT_EQ(lesions.size(), 2U);
    EXPECT_THAT(told(lesions[0]), ElementsAre("3.142 first", "0.000 x0.00 resolved", "0.000 resolved"));
    EXPECT_EQ(lesions[0].resolved, start + 24h);
    EXPECT_EQ(lesions[1].first_seen, start + 72h);
    EXPECT_THAT(told(lesions[1]), ElementsAre("0.785 first", "0.000 x0.00 resolved"));
}

TEST(LesionsTest, LookedForAndNotThereIsGoneWithoutALength) {
    std::vector<Look> looks = days_of({"2x2", ""});
    looks[1].finding.present = false;
    const Lesions lesions = followed(looks);
    EXPECT_THAT(told(lesions.at(0)), ElementsAre("3.142 first", "0.000 x0.00 resolved"));
    EXPECT_EQ(lesions[0].assessments[1].length_cm, std::nullopt);
    EXPECT_EQ(lesions[0].resolved, start + 24h);
}

GivenDose dose(Instant when, const entry::Site& site, std::string_view name = "dose") {
    return {id(name), when, "enoxaparin-100", {}, {}, site, {}, "marlow", when, false};
}

// The name of the dose that a bruise of 2 cm at (6, 0), seen at `start`, comes from.
std::string origin(const std::vector<GivenDose>& doses, std::string_view length = "2") {
    Look look = bruise(start, length);
    look.finding.site = at("6", "0");
    const Lesion lesion = followed({look}, doses).at(0);
    EXPECT_FALSE(lesion.dose_is_stated);
    EXPECT_EQ(lesion.dose.has_value(), lesion.dose_at.has_value());
    for (const char* name : {"dose", "other"}) {
        if (lesion.dose == id(name)) return name;
    }
    return lesion.dose ? "unknown" : "none";
}

TEST(LesionsTest, InjectionIsSoughtInTheThreeDaysBefore) {
    EXPECT_EQ(origin({dose(start, at("6", "0"))}), "dose");
    EXPECT_EQ(origin({dose(start + 1us, at("6", "0"))}), "none");
    EXPECT_EQ(origin({dose(start - 72h, at("6", "0"))}), "dose");
    EXPECT_EQ(origin({dose(start - 72h - 1us, at("6", "0"))}), "none");
}

TEST(LesionsTest, InjectionIsSoughtWithinHalfTheLengthAndACentimetre) {
    EXPECT_EQ(origin({dose(start, at("7.999999", "0"))}), "dose");
    EXPECT_EQ(origin({dose(start, at("8", "0"))}), "none");
    EXPECT_EQ(origin({dose(start, at("7.2", "1.599999"))}), "dose");
    EXPECT_EQ(origin({dose(start, at("7.2", "-1.6"))}), "none");  // 1.2 and 1.6 make 2.0.
    EXPECT_EQ(origin({dose(start, at("6.999999", "0"))}, ""), "dose");
    EXPECT_EQ(origin({dose(start, at("7", "0"))}, ""), "none");
    EXPECT_EQ(origin({dose(start, at("7.049999", "0"))}, "0.1"), "dose");
    // Nothing comes from an injection that was never there.
    EXPECT_EQ(origin({dose(start, at("6", "0"))}, "0"), "none");
}

TEST(LesionsTest, InjectionIsSoughtOnTheSameGridAtKnownPlaces) {
    EXPECT_EQ(origin({dose(start, {Region::thigh, Side::left, cm("6"), cm("0")})}), "none");
    EXPECT_EQ(origin({dose(start, at("", ""))}), "none");
}

TEST(LesionsTest, NearestInjectionComesFirstAndThenTheLatest) {
    EXPECT_EQ(origin({dose(start - 2h, at("6.5", "0")), dose(start - 1h, at("7", "0"), "other")}), "dose");
    EXPECT_EQ(origin({dose(start - 2h, at("7", "0")), dose(start - 1h, at("6.5", "0"), "other")}), "other");
    EXPECT_EQ(origin({dose(start - 2h, at("5", "0")), dose(start - 1h, at("6", "-1"), "other")}), "other");
}

TEST(LesionsTest, PlaceOfALesionIsTheNewestWithCoordinates) {
    std::vector<Look> looks = days_of({"1x1", "1x1", "1x1"});
    looks[2].finding.site = at("", "", Side::right);
    EXPECT_EQ(followed(looks).at(0).site, looks[2].finding.site);
    looks[0].finding.site = at("1", "0");
    looks[1].finding.site = at("2", "0");
    EXPECT_EQ(followed(looks).at(0).site, at("2", "0"));
}

TEST(LesionsTest, CarersWordOnTheInjectionStands) {
    std::vector<Look> looks = days_of({"1x1", "1x1", "1x1"});
    looks[0].finding.site = at("6", "0");
    looks[1].finding.dose = id("far");
    looks[2].finding.dose = id("near");
    const GivenDose far = dose(start - 96h, at("-8", "0", Side::right), "far");
    const GivenDose near = dose(start - 1h, at("6", "0"), "near");
    const Lesion told_of = followed(looks, {far, near}).at(0);
    EXPECT_EQ(told_of.dose, far.id);
    EXPECT_TRUE(told_of.dose_is_stated);
    EXPECT_EQ(told_of.dose_at, far.at);
    // It may have been retracted.
    const Lesion unknown = followed(looks, {near}).at(0);
    EXPECT_EQ(unknown.dose, far.id);
    EXPECT_TRUE(unknown.dose_is_stated);
    EXPECT_EQ(unknown.dose_at, std::nullopt);
}

// How many looks each series has.
std::vector<std::size_t> sizes(const std::vector<Look>& looks) {
    std::vector<std::size_t> all;
    for (const Lesion& lesion : followed(looks))
        all.push_back(lesion.assessments.size());
    return all;
}

TEST(LesionsTest, LooksWithoutALabelBelongTogetherByKindAndDose) {
    std::vector<Look> looks = days_of({"1x1", "1x1", "1x1", "1x1"});
    for (Look& look : looks)
        look.finding.lesion.reset();
    EXPECT_THAT(sizes(looks), ElementsAre(1, 1, 1, 1));
    for (Look& look : looks)
        look.finding.dose = id("one");
    EXPECT_THAT(sizes(looks), ElementsAre(4));
    looks[1].finding.dose = id("another");
    looks[2].finding.what = FindingKind::redness;
    EXPECT_THAT(sizes(looks), ElementsAre(2, 1, 1));
    looks[3].finding.lesion = "B1";
    EXPECT_THAT(sizes(looks), ElementsAre(1, 1, 1, 1));
}

TEST(LesionsTest, BruiseMayTurnOutAHaematoma) {
    std::vector<Look> looks = days_of({"2x2", "3x3", "0"});
    looks[1].finding.what = FindingKind::haematoma;
    const Lesions lesions = followed(looks);
    ASSERT_EQ(lesions.size(), 1U);
    EXPECT_EQ(lesions[0].what, FindingKind::bruise);
    EXPECT_THAT(told(lesions[0]), ElementsAre("3.142 first", "7.069 x2.25 growing", "0.000 x0.00 resolved"));
}

TEST(LesionsTest, PainThatGoesLeavesTheBruise) {
    std::vector<Look> looks = days_of({"2x2", "", "3x3", ""});
    looks[1].finding.what = FindingKind::pain;
    looks[3].finding.what = FindingKind::pain;
    looks[3].finding.present = false;
    const Lesions lesions = followed(looks);
    ASSERT_EQ(lesions.size(), 2U);
    EXPECT_THAT(told(lesions[0]), ElementsAre("3.142 first", "7.069 x2.25 growing"));
    EXPECT_EQ(lesions[0].resolved, std::nullopt);
    EXPECT_EQ(lesions[1].what, FindingKind::pain);
    EXPECT_EQ(lesions[1].resolved, start + 72h);
}

TEST(LesionsTest, DeadSkinIsNoSmallerBruise) {
    std::vector<Look> looks = days_of({"4x4", "1x1", "4x4"});
    looks[1].finding.what = FindingKind::dead_skin;
    const Lesions lesions = followed(looks);
    ASSERT_EQ(lesions.size(), 2U);
    EXPECT_THAT(told(lesions[0]), ElementsAre("12.566 first", "12.566 x1.00 steady"));
    EXPECT_THAT(told(lesions[1]), ElementsAre("0.785 first"));
}

TEST(LesionsTest, OnlyWhatLiesAtASiteIsFollowed) {
    Look look = bruise(start, "");
    look.finding.site.reset();
    look.finding.what = FindingKind::nosebleed;
    EXPECT_THAT(followed({look}), IsEmpty());
    look.finding.what = FindingKind::other;
    EXPECT_THAT(sizes({look}), ElementsAre(1));
    look.finding.lesion.reset();
    EXPECT_THAT(followed({look}), IsEmpty());
    look.finding.site = at("", "");
    EXPECT_THAT(sizes({look}), ElementsAre(1));
}

// Looks at several lesions, in any mixture, say of each what its own looks say.
TEST(LesionsTest, LesionsDoNotDisturbEachOther) {
    constexpr unsigned seed = 20261025;
    SCOPED_TRACE(seed);
    std::mt19937 chance(seed);
    const auto up_to = [&](int most) { return std::uniform_int_distribution<>(0, most)(chance); };
    for (int run = 0; run < 200; ++run) {
        std::vector<Look> mixed;
        std::map<std::string, std::vector<Look>> apart;
        for (int i = 0; i < 40; ++i) {
            const std::string length = std::to_string(up_to(4));
            Look look = bruise(start + i * 7h, length, up_to(3) == 0 ? "" : length);
            look.finding.lesion = "B" + std::to_string(up_to(3));
            apart[*look.finding.lesion].push_back(look);
            mixed.push_back(look);
        }
        std::map<std::string, Texts> together;
        for (const Lesion& lesion : followed(mixed)) {
            for (const std::string& text : told(lesion))
                together[lesion.label].push_back(text);
        }
        for (const auto& [label, looks] : apart) {
            Texts alone;
            for (const Lesion& lesion : followed(looks)) {
                for (const std::string& text : told(lesion))
                    alone.push_back(text);
            }
            EXPECT_EQ(together[label], alone) << run << ' ' << label;
        }
    }
}

}  // namespace
}  // namespace nightferry::care
