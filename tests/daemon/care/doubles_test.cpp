// Doses close together. The limits of six hours and of half an hour are common practice, no source.
#include "daemon/care/doubles.hpp"

#include "tests/daemon/care/fortnight.hpp"

namespace nightferry::care {
namespace {

using namespace std::chrono_literals;
using namespace test;
using std::chrono::minutes;
using testing::ElementsAre;

const Instant eight = instant("2026-10-12T07:00Z");
const std::vector<Instant> slots{eight, eight + 12h, eight + 24h};

GivenDose dose(minutes after, std::string_view ml = "0.18", bool separate = false) {
    const entry::Amount amount{*Decimal::parse(ml), entry::Unit::millilitre};
    return {{}, eight + after, "enoxaparin-100", amount, *size_of(amount, enoxaparin), {}, {}, "marlow",
            {}, separate};
}

// "0+1 entry", "0+1 injection", with "decided" behind what a person settled.
std::vector<std::string> doubles(const std::vector<GivenDose>& doses) {
    std::vector<std::string> texts;
    for (const PossibleDouble& one : possible_doubles(doses, slots, {}, {})) {
        texts.push_back(std::to_string(one.earlier) + "+" + std::to_string(one.later) +
                        (one.kind == DoubleKind::duplicate_entry ? " entry" : " injection") +
                        (one.decided ? " decided" : ""));
    }
    return texts;
}

TEST(DoublesTest, EqualAmountsWithinHalfAnHourLookLikeOneDose) {
    EXPECT_THAT(doubles({dose(0min), dose(3min)}), ElementsAre("0+1 entry"));
    EXPECT_THAT(doubles({dose(0min), dose(30min)}), ElementsAre("0+1 entry"));
    EXPECT_THAT(doubles({dose(0min), dose(31min)}), ElementsAre("0+1 injection"));
    EXPECT_THAT(doubles({dose(0min), dose(3min, "0.20")}), ElementsAre("0+1 injection"));
    EXPECT_THAT(doubles({dose(0min), dose(3min, "0.180")}), ElementsAre("0+1 entry"));
}

TEST(DoublesTest, DosesOfAnotherSlotAreLookedAtWithinSixHours) {
    EXPECT_THAT(doubles({dose(350min), dose(709min)}), ElementsAre("0+1 injection"));
    EXPECT_TRUE(doubles({dose(350min), dose(710min)}).empty());
}

// Both lie in the reach of the first slot and of no other.
TEST(DoublesTest, TwoDosesThatCanOnlyMeanOneSlotAreLookedAt) {
    EXPECT_THAT(doubles({dose(-170min), dose(200min)}), ElementsAre("0+1 injection"));
    EXPECT_THAT(doubles({dose(-180min), dose(360min)}), ElementsAre("0+1 injection"));
    EXPECT_TRUE(doubles({dose(-180min), dose(361min)}).empty());
}

TEST(DoublesTest, DecidedDoseCountsForThoseAfterIt) {
    EXPECT_THAT(doubles({dose(0min), dose(77min, "0.18", true)}), ElementsAre("0+1 injection decided"));
    EXPECT_THAT(doubles({dose(0min), dose(300min, "0.18", true), dose(400min)}),
                ElementsAre("0+1 injection decided", "1+2 injection"));
}

TEST(DoublesTest, UndecidedDoseCastsNoDoubtOnTheNext) {
    EXPECT_THAT(doubles({dose(0min), dose(200min), dose(541min)}), ElementsAre("0+1 injection"));
}

TEST(DoublesTest, SeveralEntriesOfOneDoseAllWait) {
    EXPECT_THAT(doubles({dose(0min), dose(1min), dose(2min), dose(2min)}),
                ElementsAre("0+1 entry", "0+2 entry", "0+3 entry"));
}

TEST(DoublesTest, NothingIsNoDouble) {
    EXPECT_TRUE(doubles({}).empty());
    EXPECT_TRUE(doubles({dose(0min)}).empty());
}

}  // namespace
}  // namespace nightferry::care
