// What became of every slot, and which doses count. The demo's entries are invented.
#include "daemon/care/timeline.hpp"

#include <random>

#include "tests/daemon/care/fortnight.hpp"

namespace nightferry::care {
namespace {

using namespace std::chrono_literals;
using namespace test;
using testing::ElementsAre;
using Texts = std::vector<std::string>;

Timeline timeline(const Known& known, Instant now = long_after) {
    return timeline_of(fortnight(), household(), fortnight_from, fortnight_to, known, now, {});
}

Texts dues(const Timeline& of, SlotFate fate) {
    Texts texts;
    for (const SlotRecord& record : of.slots) {
        if (record.fate == fate) texts.push_back(to_text(record.slot.due.at));
    }
    return texts;
}

GivenDose copy_of(const GivenDose& dose, std::chrono::minutes later) {
    GivenDose copy = dose;
    copy.id = NameSpace("test").id_for(dose.id.to_string() + " again");
    copy.at += later;
    copy.is_separate = false;
    return copy;
}

void add(Known& known, const GivenDose& dose) {
    known.doses.push_back(dose);
    std::ranges::sort(known.doses, [](const auto& a, const auto& b) { return a.at < b.at; });
}

// What every figure is made of, as text.
std::string told(const Timeline& of) {
    std::ostringstream text;
    for (const SlotRecord& record : of.slots) {
        text << to_text(record.slot.due) << ' ' << static_cast<int>(record.fate);
        if (record.dose) text << ' ' << of.doses[*record.dose].given.id.to_string();
        text << '\n';
    }
    for (const DoseRecord& dose : of.doses)
        text << dose.given.id.to_string() << ' ' << dose.slot.has_value() << static_cast<int>(dose.timing)
             << '\n';
    return text.str();
}

TEST(TimelineTest, FortnightOfTheDemoHasItsFates) {
    const Timeline found = fortnight_timeline(long_after);
    EXPECT_EQ(found.slots.size(), 42U);
    EXPECT_THAT(dues(found, SlotFate::held),
                ElementsAre("2026-10-15T19:00:00Z", "2026-10-16T07:00:00Z", "2026-10-28T20:00:00Z"));
    EXPECT_THAT(dues(found, SlotFate::missed), ElementsAre("2026-10-18T19:00:00Z"));
    EXPECT_THAT(dues(found, SlotFate::no_record), ElementsAre("2026-10-27T08:00:00Z"));
    EXPECT_EQ(dues(found, SlotFate::given).size(), 37U);
    EXPECT_EQ(found.doses.size(), 38U);
    EXPECT_TRUE(found.provisional.empty());
}

// Recorded 17 October 20:05 local time, and retracted at 21:10; recorded 28 October 09:22, decided at 10:10.
TEST(TimelineTest, PossibleDoubleWaitsUntilAPersonDecides) {
    const auto known_then = [](std::string_view at) {
        const Timeline found = fortnight_timeline(instant(at));
        return std::to_string(found.doubles.size()) + " doubles, " +
               std::to_string(found.provisional.size()) + " provisional";
    };
    EXPECT_EQ(known_then("2026-10-17T19:04Z"), "0 doubles, 0 provisional");
    EXPECT_EQ(known_then("2026-10-17T19:05Z"), "1 doubles, 1 provisional");
    EXPECT_EQ(known_then("2026-10-17T20:10Z"), "0 doubles, 0 provisional");
    EXPECT_EQ(known_then("2026-10-28T09:22Z"), "1 doubles, 1 provisional");
    EXPECT_EQ(known_then("2026-10-28T10:10Z"), "1 doubles, 0 provisional");
}

TEST(TimelineTest, ProvisionalDoseChangesNoFate) {
    Known known = fortnight_known();
    const std::string before = told(timeline(known));
    for (const std::chrono::minutes later : {1min, 3min, 30min, 31min, 200min}) {
        Known with_copy = known;
        add(with_copy, copy_of(known.doses[9], later));
        const Timeline found = timeline(with_copy);
        EXPECT_EQ(told(found), before) << later.count();
        EXPECT_EQ(found.provisional.size(), 1U);
    }
}

TEST(TimelineTest, DeclarationsBelongToTheSlotNextToTheirTime) {
    Known known = fortnight_known();
    for (NotGiven& one : known.not_given)
        one.due += 40min;
    EXPECT_EQ(told(timeline(known)), told(fortnight_timeline(long_after)));
}

TEST(TimelineTest, SlotThatWasDeclaredMissedAndYetFilledIsGiven) {
    Known known = fortnight_known();
    GivenDose late = copy_of(known.doses[10], 11h + 45min);
    add(known, late);
    const Timeline found = timeline(known);
    EXPECT_TRUE(dues(found, SlotFate::missed).empty());
}

TEST(TimelineTest, DoseGivenWhileHeldIsExtraAndSaysSo) {
    Known known = fortnight_known();
    GivenDose dose = known.doses[0];
    dose.at = instant("2026-10-16T07:30Z");
    add(known, dose);
    const Timeline found = timeline(known);
    std::vector<Instant> while_held;
    for (const DoseRecord& one : found.doses) {
        if (one.while_held) while_held.push_back(one.given.at);
    }
    EXPECT_EQ(while_held, std::vector<Instant>{instant("2026-10-16T07:30Z")});
    EXPECT_EQ(dues(found, SlotFate::held).size(), 3U);
}

TEST(TimelineTest, HoldWrittenDownLateHoldsFromThenOn) {
    const auto held_on_the_16th = [](std::string_view known_at) {
        const auto held = dues(fortnight_timeline(instant(known_at)), SlotFate::held);
        return std::ranges::count(held, "2026-10-16T07:00:00Z");
    };
    EXPECT_EQ(held_on_the_16th("2026-10-16T07:04Z"), 0);
    EXPECT_EQ(held_on_the_16th("2026-10-16T07:05Z"), 1);
}

TEST(TimelineTest, OrderOfArrivalChangesNothing) {
    constexpr unsigned seed = 417;
    std::mt19937 random(seed);
    auto entries = fortnight_entries();
    const std::string before = told(timeline(known_at(entries, household(), long_after)));
    for (int round = 0; round < 50; ++round) {
        std::shuffle(entries.begin(), entries.end(), random);
        for (Revisions& revisions : entries)
            std::shuffle(revisions.begin(), revisions.end(), random);
        EXPECT_EQ(told(timeline(known_at(entries, household(), long_after))), before)
            << "seed " << seed << " round " << round;
    }
}

// Weeks apart from any clock change, everything later by the same whole days is the same, later.
TEST(TimelineTest, ShiftByWholeDaysShiftsResultsOnly) {
    const auto shape = [](std::chrono::days shift) {
        Regimen regimen = fortnight();
        for (Order& order : regimen.orders) {
            order.zone = zone("Asia/Kolkata");
            order.from += shift;
        }
        Known known = fortnight_known();
        for (GivenDose& dose : known.doses)
            dose.at += shift;
        for (NotGiven& one : known.not_given)
            one.due += shift;
        const Timeline found = timeline_of(regimen, household(), fortnight_from + shift, fortnight_to + shift,
                                           known, long_after + shift, {});
        std::string text;
        for (const SlotRecord& record : found.slots)
            text += to_text(record.slot.due.at - shift) + std::to_string(static_cast<int>(record.fate));
        return text;
    };
    for (const int days : {1, 7, 30, 365, -100})
        EXPECT_EQ(shape(std::chrono::days{days}), shape(std::chrono::days{0})) << days;
}

}  // namespace
}  // namespace nightferry::care
