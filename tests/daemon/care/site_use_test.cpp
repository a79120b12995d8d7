// Where recent injections lie, and what a clinic's order of zones says next.
#include <random>

#include "daemon/care/sites.hpp"
#include "tests/daemon/care/site_diary.hpp"

namespace nightferry::care {
namespace {

using namespace std::chrono_literals;
using namespace test;
using enum entry::FindingKind;
using testing::ElementsAre;
using testing::IsEmpty;
using Texts = std::vector<std::string>;

// "TL 0, last 2026-10-19T06:55:00Z, rests until 2026-11-08T00:00:00Z"
Texts uses(const SiteDiary& diary, Instant at) {
    Texts rows;
    for (const ZoneUse& use : zone_use(diary.doses, diary.looks, diary.rules, zone(diary.home), at)) {
        EXPECT_EQ(use.last.has_value(), use.last_dose.has_value());
        EXPECT_TRUE(use.rests || !use.rests_until);
        rows.push_back(told(use.zone) + ' ' + std::to_string(use.recent.size()) +
                       (use.last ? ", last " + to_text(*use.last) : "") + (use.rests ? ", rests" : "") +
                       (use.rests_until ? " until " + to_text(*use.rests_until) : ""));
    }
    return rows;
}

// "AL TR AR" as zones.
std::vector<BodyZone> zones(const std::string& text) {
    std::vector<BodyZone> zones;
    std::istringstream words(text);
    for (std::string word; words >> word;)
        zones.push_back(zone_of(site(word)));
    return zones;
}

// What comes after injections at these zones, an hour apart.
std::string after(const std::string& given, const std::string& order) {
    SiteDiary diary;
    Instant at = instant("2026-10-12T07:00Z");
    for (const BodyZone& zone : zones(given))
        diary.given(at += 1h, {zone.region, zone.side, {}, {}});
    diary.rules.rotation = zones(order);
    const Rotation rotation = rotation_after(diary.doses, diary.rules, at);
    return (rotation.last ? told(*rotation.last) : "-") + " > " +
           (rotation.next ? told(*rotation.next) : "-");
}

TEST(ZoneUseTest, FortnightEndsWithOneZoneAtRest) {
    EXPECT_THAT(uses(fortnight_diary(), instant("2026-11-02T00:00Z")),
                ElementsAre("AL 6, last 2026-11-01T08:00:00Z", "AR 3, last 2026-11-01T20:06:00Z",
                            "TL 1, last 2026-10-26T20:45:00Z, rests until 2026-11-08T00:00:00Z",
                            "TR 3, last 2026-10-31T19:50:00Z"));
}

TEST(ZoneUseTest, WhatComesLaterIsLeftOut) {
    EXPECT_THAT(uses(fortnight_diary(), instant("2026-10-20T17:29:59Z")),
                ElementsAre("AL 3, last 2026-10-20T07:05:00Z", "AR 4, last 2026-10-19T19:00:00Z",
                            "TL 2, last 2026-10-19T06:55:00Z", "TR 2, last 2026-10-18T07:30:00Z"));
    EXPECT_THAT(uses(fortnight_diary(), instant("2026-10-20T17:30Z")),
                testing::Contains("TL 2, last 2026-10-19T06:55:00Z, rests"));
}

TEST(ZoneUseTest, ZoneThatOnlyRestsHasARowAndOneThatWasOnlyLookedAtHasNone) {
    SiteDiary diary;
    diary.seen("2026-10-12T07:00Z", lump, "WR").seen("2026-10-12T07:00Z", bruise, "BL");
    EXPECT_THAT(uses(diary, instant("2026-10-12T07:00Z")), ElementsAre("WR 0, rests"));
    EXPECT_THAT(uses(diary, instant("2026-10-12T06:59Z")), IsEmpty());
    EXPECT_THAT(uses({}, instant("2026-10-12T06:59Z")), IsEmpty());
}

TEST(ZoneUseTest, SpacingDaysCountToTheLastInstant) {
    SiteDiary diary;
    diary.given("2026-10-12T07:00Z", "TL").given("2026-10-19T07:00Z", "TR");
    EXPECT_THAT(uses(diary, instant("2026-10-19T07:00Z")),
                ElementsAre("TL 1, last 2026-10-12T07:00:00Z", "TR 1, last 2026-10-19T07:00:00Z"));
    EXPECT_THAT(uses(diary, instant("2026-10-19T07:00:01Z")),
                ElementsAre("TL 0, last 2026-10-12T07:00:00Z", "TR 1, last 2026-10-19T07:00:00Z"));
}

TEST(ZoneUseTest, RestEndsWhenItSays) {
    SiteDiary diary;
    diary.seen("2026-10-12T07:00Z", lump, "TL", "1").seen("2026-10-13T07:00Z", lump, "TL", "0");
    EXPECT_THAT(uses(diary, instant("2026-10-20T22:59:59Z")),
                ElementsAre("TL 0, rests until 2026-10-20T23:00:00Z"));
    EXPECT_THAT(uses(diary, instant("2026-10-20T23:00Z")), IsEmpty());
}

TEST(ZoneUseTest, OneLumpThatIsThereKeepsTheEndOpen) {
    SiteDiary diary;
    diary.seen("2026-10-12T07:00Z", lump, "TL", "1", "L1")
        .seen("2026-10-12T07:00Z", lump, "TL", "1", "L2")
        .seen("2026-10-13T07:00Z", lump, "TL", "0", "L1")
        .seen("2026-10-15T07:00Z", lump, "TL", "0", "L2");
    EXPECT_THAT(uses(diary, instant("2026-10-14T07:00Z")), ElementsAre("TL 0, rests"));
    EXPECT_THAT(uses(diary, instant("2026-10-15T07:00Z")),
                ElementsAre("TL 0, rests until 2026-10-22T23:00:00Z"));
}

TEST(RotationTest, OrderIsACircle) {
    EXPECT_EQ(after("AL", "AL TR AR TL"), "AL > TR");
    EXPECT_EQ(after("AR AR TL", "AL TR AR TL"), "TL > AL");
    EXPECT_EQ(after("TL", "TL"), "TL > TL");
}

TEST(RotationTest, NothingIsSaidWithoutAnOrderOrOutsideOfIt) {
    EXPECT_EQ(after("", "AL TR"), "- > -");
    EXPECT_EQ(after("AL", ""), "AL > -");
    EXPECT_EQ(after("AL TR UL", "AL TR"), "UL > -");
}

TEST(RotationTest, InjectionsBeforeTellWhichOfEqualZonesItWas) {
    EXPECT_EQ(after("TR AL", "AL TL AL TR"), "AL > TL");
    EXPECT_EQ(after("TL AL", "AL TL AL TR"), "AL > TR");
    EXPECT_EQ(after("TR AL AL", "AL TR AL AL TL AL"), "AL > TL");
    EXPECT_EQ(after("TL AL AL", "AL TR AL AL TL AL"), "AL > TR");
    // The one before is in no place that fits, so the first place counts.
    EXPECT_EQ(after("UL AL", "TR AL TL AL"), "AL > TL");
    EXPECT_EQ(after("AL", "TR AL TL AL"), "AL > TL");
}

TEST(RotationTest, WhatComesLaterIsLeftOut) {
    SiteDiary diary;
    diary.given("2026-10-12T07:00Z", "AL").given("2026-10-12T19:00Z", "TR");
    diary.rules.rotation = zones("AL TR AR TL");
    const auto next = [&](std::string_view at) {
        return rotation_after(diary.doses, diary.rules, instant(at)).next;
    };
    EXPECT_EQ(next("2026-10-12T06:59Z"), std::nullopt);
    EXPECT_EQ(next("2026-10-12T07:00Z"), zones("TR")[0]);
    EXPECT_EQ(next("2026-10-12T18:59Z"), zones("TR")[0]);
    EXPECT_EQ(next("2026-10-12T19:00Z"), zones("AR")[0]);
}

TEST(RotationTest, WhoFollowsAnOrderForARoundIsToldTheNextZone) {
    constexpr unsigned seed = 20261012;
    std::mt19937 random(seed);
    const char* const names[] = {"AL", "AR", "TL"};
    for (int round = 0; round < 500; ++round) {
        Texts order(std::uniform_int_distribution<std::size_t>(1, 9)(random));
        for (std::string& zone : order)
            zone = names[std::uniform_int_distribution<int>(0, 2)(random)];
        std::string order_text;
        for (const std::string& zone : order)
            order_text += zone + ' ';
        const std::size_t start = std::uniform_int_distribution<std::size_t>(0, order.size() - 1)(random);
        std::string given;
        for (std::size_t i = 0; i < order.size(); ++i)
            given += order[(start + i) % order.size()] + ' ';
        ASSERT_EQ(after(given, order_text).substr(5), order[start])
            << order_text << "after " << given << "seed " << seed << " round " << round;
    }
}

}  // namespace
}  // namespace nightferry::care
