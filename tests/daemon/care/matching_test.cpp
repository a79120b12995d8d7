// Which given dose belongs to which slot. The boundary values are those of the default limits: a children's
// clinic sheet for twelve-hourly enoxaparin lets a dose be given until six hours before the next one.
#include "daemon/care/matching.hpp"

#include <random>

#include "tests/daemon/care/fortnight.hpp"

namespace nightferry::care {
namespace {

using namespace std::chrono_literals;
using namespace test;
using std::chrono::microseconds;
using std::chrono::minutes;
using Instants = std::vector<Instant>;
using Matches = std::vector<std::optional<std::size_t>>;

const Instant eight = instant("2026-10-12T07:00Z");

Matches matched(const Instants& slots, const Instants& given) {
    return match(slots, given, {});
}

microseconds size_of(microseconds deviation) {
    return deviation < 0min ? -deviation : deviation;
}

// Slots at eight and twelve hours later, and one dose so many minutes after the first.
std::string fate_of_dose(int after) {
    const auto matches = matched({eight, eight + 12h}, {eight + minutes(after)});
    if (!matches[0]) return "none";
    constexpr const char* names[] = {"on time", "early", "late", "very late"};
    const auto deviation = minutes(after) - (*matches[0] == 1 ? 720min : 0min);
    return std::to_string(*matches[0]) + ' ' + names[static_cast<int>(timing_of(deviation, {}))];
}

TEST(MatchingTest, LimitsAreInclusive) {
    EXPECT_EQ(fate_of_dose(-181), "none");
    EXPECT_EQ(fate_of_dose(-180), "0 early");
    EXPECT_EQ(fate_of_dose(-61), "0 early");
    EXPECT_EQ(fate_of_dose(-60), "0 on time");
    EXPECT_EQ(fate_of_dose(0), "0 on time");
    EXPECT_EQ(fate_of_dose(60), "0 on time");
    EXPECT_EQ(fate_of_dose(61), "0 late");
    EXPECT_EQ(fate_of_dose(180), "0 late");
    EXPECT_EQ(fate_of_dose(181), "0 very late");
    EXPECT_EQ(fate_of_dose(360), "0 very late");
    EXPECT_EQ(fate_of_dose(361), "none");
    EXPECT_EQ(fate_of_dose(539), "none");
    EXPECT_EQ(fate_of_dose(540), "1 early");
}

TEST(MatchingTest, AsManyPairsAsPossibleComeBeforeSmallDeviations) {
    EXPECT_EQ(matched({eight, eight + 12h}, {eight + 350min, eight + 541min}), (Matches{0, 1}));
    // Each alone would take the second slot.
    EXPECT_EQ(matched({eight, eight + 4h}, {eight + 220min, eight + 4h}), (Matches{0, 1}));
}

TEST(MatchingTest, NearestDoseFillsASlotThatTwoCouldFill) {
    EXPECT_EQ(matched({eight}, {eight - 30min, eight + 10min}), (Matches{std::nullopt, 0}));
    EXPECT_EQ(matched({eight}, {eight - 5min, eight + 10min}), (Matches{0, std::nullopt}));
}

TEST(MatchingTest, TiesGoToTheEarlierDoseAndTheEarlierSlot) {
    EXPECT_EQ(matched({eight}, {eight - 10min, eight + 10min}), (Matches{0, std::nullopt}));
    EXPECT_EQ(matched({eight}, {eight, eight}), (Matches{0, std::nullopt}));
    EXPECT_EQ(matched({eight, eight + 2h}, {eight + 1h}), Matches{0});
}

TEST(MatchingTest, NothingMeetsNothing) {
    EXPECT_TRUE(matched({}, {}).empty());
    EXPECT_EQ(matched({}, {eight}), Matches{std::nullopt});
    EXPECT_TRUE(matched({eight}, {}).empty());
}

// Every assignment that keeps order, one after the other, in the order of preference among equally good ones:
// an earlier slot before a later one, any slot before none.
class TryingEverything {
 public:
    TryingEverything(const Instants& slots, const Instants& given) : slots_(slots), given_(given) {
        Matches none;
        search(none, 0);
    }
    const Matches& best() const { return best_; }

 private:
    void search(Matches& so_far, std::size_t next) {
        if (so_far.size() == given_.size()) return judge(so_far);
        const Instant at = given_[so_far.size()];
        for (std::size_t j = next; j < slots_.size(); ++j) {
            if (at - slots_[j] < -180min || at - slots_[j] > 360min) continue;
            so_far.push_back(j);
            search(so_far, j + 1);
            so_far.pop_back();
        }
        so_far.push_back(std::nullopt);
        search(so_far, next);
        so_far.pop_back();
    }
    void judge(const Matches& matches) {
        std::size_t pairs = 0;
        microseconds deviation{0};
        for (std::size_t i = 0; i < matches.size(); ++i) {
            if (!matches[i]) continue;
            ++pairs;
            deviation += size_of(given_[i] - slots_[*matches[i]]);
        }
        if (found_ && (pairs < pairs_ || (pairs == pairs_ && deviation >= deviation_))) return;
        found_ = true;
        pairs_ = pairs;
        deviation_ = deviation;
        best_ = matches;
    }

    const Instants& slots_;
    const Instants& given_;
    Matches best_;
    bool found_ = false;
    std::size_t pairs_ = 0;
    microseconds deviation_{0};
};

TEST(MatchingTest, AgreesWithTryingEverythingOnSmallRandomCases) {
    constexpr unsigned seed = 20261012;
    std::mt19937 random(seed);
    const auto between = [&](int least, int most) {
        return std::uniform_int_distribution<int>(least, most)(random);
    };
    for (int round = 0; round < 3000; ++round) {
        Instants slots;
        Instants given;
        Instant at = eight;
        for (int i = 0; i < 5; ++i)
            slots.push_back(at += minutes(between(round % 3 == 0 ? 720 : 60, 720)));
        for (int i = 0; i < 6; ++i)
            given.push_back(eight + 10min * between(0, 400));
        std::sort(given.begin(), given.end());
        EXPECT_EQ(matched(slots, given), TryingEverything(slots, given).best())
            << "seed " << seed << " round " << round;
    }
}

// 38 injections against the 39 slots that were not held, worked out by hand from the table of the demo.
TEST(MatchingTest, FortnightOfTheDemoComesOutAsWorkedOutByHand) {
    Instants slots;
    for (const SlotRecord& record : fortnight_timeline(long_after).slots) {
        if (record.fate != SlotFate::held) slots.push_back(record.slot.due.at);
    }
    ASSERT_EQ(slots.size(), 39U);
    Instants given;
    for (const GivenDose& dose : fortnight_known().doses)
        given.push_back(dose.at);
    ASSERT_EQ(given.size(), 38U);
    const Matches matches = matched(slots, given);
    std::map<Timing, int> timings;
    Instants extra;
    microseconds sum{0};
    microseconds absolute{0};
    for (std::size_t i = 0; i < given.size(); ++i) {
        if (!matches[i]) {
            extra.push_back(given[i]);
            continue;
        }
        const microseconds deviation = given[i] - slots[*matches[i]];
        sum += deviation;
        absolute += size_of(deviation);
        ++timings[timing_of(deviation, {})];
    }
    EXPECT_EQ(extra, Instants{instant("2026-10-28T09:20Z")});
    EXPECT_EQ(sum, 453min);
    EXPECT_EQ(absolute, 743min);
    EXPECT_EQ(timings,
              (std::map<Timing, int>{
                  {Timing::on_time, 34}, {Timing::early, 1}, {Timing::late, 1}, {Timing::very_late, 1}}));
}

TEST(MatchingTest, TenYearsOfDosesInCrowdsAreMatchedAtOnce) {
    Instants slots;
    Instants given;
    for (int day = 0; day < 3650; ++day) {
        slots.push_back(eight + 24h * day);
        for (int i = 0; i < 20; ++i)
            given.push_back(slots.back() + minutes(i));
    }
    const Matches matches = matched(slots, given);
    EXPECT_EQ(std::count_if(matches.begin(), matches.end(), [](const auto& one) { return one.has_value(); }),
              3650);
}

}  // namespace
}  // namespace nightferry::care
