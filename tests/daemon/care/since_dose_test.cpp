// The time since the last dose. A window of four to six hours is where most published schemes take the peak
// sample of these medicines (for children the American College of Chest Physicians, from memory). The demo's
// entries are invented.
#include "daemon/care/since_dose.hpp"

#include <random>

#include "tests/daemon/care/fortnight.hpp"

namespace nightferry::care {
namespace {

using namespace std::chrono_literals;
using namespace test;
using std::chrono::microseconds;
using testing::ElementsAre;
using testing::IsEmpty;

const SampleWindow four_to_six;
const Instant noon = instant("2026-10-12T12:00Z");

// What was known of the fortnight at an instant, asked about another.
SinceDose since(std::string_view at, const std::optional<SampleWindow>& window = {},
                Instant known_at = long_after) {
    const Known known = fortnight_known(known_at);
    const Timeline timeline = fortnight_timeline(known_at);
    return since_dose(known.doses, timeline.doubles, timeline, instant(at), window);
}

TEST(SinceDoseTest, FortnightOfTheDemoIsAsWorkedOutByHand) {
    EXPECT_EQ(since("2026-10-25T07:00Z").elapsed, 13h + 30min);
    EXPECT_EQ(since("2026-10-28T08:30Z").elapsed, 27min);
    EXPECT_EQ(since("2026-10-28T12:00Z").elapsed, 2h + 40min);
    EXPECT_EQ(since("2026-10-30T12:00+02:00").elapsed, 1h + 55min);
    EXPECT_EQ(since("2026-11-01T23:59:59Z").elapsed, 3h + 53min + 59s);
}

TEST(SinceDoseTest, SamplesOfTheDemoAreInAndOutOfTheWindow) {
    const SinceDose inside = since("2026-10-20T12:10+01:00", four_to_six);
    EXPECT_EQ(inside.given, instant("2026-10-20T08:05+01:00"));
    EXPECT_EQ(inside.elapsed, 4h + 5min);
    EXPECT_EQ(inside.in_window, true);
    EXPECT_EQ(inside.outside_by, 0min);
    EXPECT_TRUE(inside.is_settled());
    const SinceDose outside = since("2026-10-23T12:00+01:00", four_to_six);
    EXPECT_EQ(outside.given, instant("2026-10-23T08:20+01:00"));
    EXPECT_EQ(outside.elapsed, 3h + 40min);
    EXPECT_EQ(outside.in_window, false);
    EXPECT_EQ(outside.outside_by, -20min);
}

// A dose on the evening before each change of the clocks, and eight o'clock on the morning after it.
TEST(SinceDoseTest, ClockChangesAreCountedAsTimeThatPassed) {
    const auto night = [](std::string_view evening, std::string_view morning) {
        GivenDose dose;
        dose.at = instant(evening);
        return since_dose(std::vector{dose}, {}, {}, instant(morning), {}).elapsed;
    };
    EXPECT_EQ(night("2026-10-24T20:00+01:00", "2026-10-25T08:00+00:00"), 13h);
    EXPECT_EQ(night("2026-03-28T20:00+00:00", "2026-03-29T08:00+01:00"), 11h);
    // Lord Howe Island puts its clocks by half an hour.
    EXPECT_EQ(night("2026-04-04T20:00+11:00", "2026-04-05T08:00+10:30"), 12h + 30min);
    // Half past one comes twice.
    EXPECT_EQ(night("2026-10-25T01:30+01:00", "2026-10-25T01:30+00:00"), 1h);
}

// One dose so long before noon.
SinceDose after(microseconds elapsed, const std::optional<SampleWindow>& window) {
    GivenDose dose;
    dose.at = noon - elapsed;
    return since_dose(std::vector{dose}, {}, {}, noon, window);
}

TEST(SinceDoseTest, WindowIncludesBothItsEnds) {
    EXPECT_EQ(after(4h, four_to_six).in_window, true);
    EXPECT_EQ(after(6h, four_to_six).in_window, true);
    EXPECT_EQ(after(6h, four_to_six).outside_by, 0us);
    EXPECT_EQ(after(4h - 1us, four_to_six).in_window, false);
    EXPECT_EQ(after(4h - 1us, four_to_six).outside_by, -1us);
    EXPECT_EQ(after(6h + 1us, four_to_six).in_window, false);
    EXPECT_EQ(after(6h + 1us, four_to_six).outside_by, 1us);
    EXPECT_EQ(after(0h, four_to_six).outside_by, -4h);
}

TEST(SinceDoseTest, WithoutAWindowNothingIsSaidOfIt) {
    EXPECT_EQ(after(5h, {}).in_window, std::nullopt);
    EXPECT_EQ(after(5h, {}).outside_by, 0us);
    EXPECT_EQ(after(5h, {}).elapsed, 5h);
}

TEST(SinceDoseTest, WithoutADoseNothingHasElapsed) {
    for (const SinceDose& none : {since_dose({}, {}, {}, noon, four_to_six), after(-1us, four_to_six)}) {
        EXPECT_EQ(none.dose, std::nullopt);
        EXPECT_EQ(none.given, std::nullopt);
        EXPECT_EQ(none.elapsed, std::nullopt);
        EXPECT_EQ(none.in_window, std::nullopt);
        EXPECT_FALSE(none.is_provisional);
        EXPECT_TRUE(none.is_settled());
    }
}

TEST(SinceDoseTest, DoseAtThatInstantIsTheLastOne) {
    EXPECT_EQ(since("2026-10-28T09:19:59Z").elapsed, 1h + 16min + 59s);
    EXPECT_EQ(since("2026-10-28T09:20Z").elapsed, 0h);
}

// The second injection of 28 October, recorded at 09:22 and decided at 10:10.
TEST(SinceDoseTest, ProvisionalLastDoseStandsBesideTheCertainOne) {
    const SinceDose open = since("2026-10-28T13:00Z", four_to_six, instant("2026-10-28T09:30Z"));
    EXPECT_TRUE(open.is_provisional);
    EXPECT_EQ(open.elapsed, 3h + 40min);
    EXPECT_EQ(open.outside_by, -20min);
    EXPECT_EQ(open.certain_elapsed, 4h + 57min);
    EXPECT_NE(open.certain_dose, open.dose);
    EXPECT_THAT(open.undecided, ElementsAre(open.dose.value()));
    EXPECT_FALSE(open.is_settled());
    const SinceDose decided = since("2026-10-28T13:00Z", four_to_six, instant("2026-10-28T10:10Z"));
    EXPECT_EQ(decided.dose, open.dose);
    EXPECT_FALSE(decided.is_provisional);
    EXPECT_EQ(decided.certain_dose, std::nullopt);
    EXPECT_EQ(decided.certain_elapsed, std::nullopt);
    EXPECT_THAT(decided.undecided, IsEmpty());
}

TEST(SinceDoseTest, RetractedDoubleLeavesNoTrace) {
    const SinceDose before = since("2026-10-17T20:00Z", {}, instant("2026-10-17T19:30Z"));
    EXPECT_EQ(before.elapsed, 55min);
    EXPECT_EQ(before.certain_elapsed, 58min);
    const SinceDose now = since("2026-10-17T20:00Z", {}, instant("2026-10-17T20:10Z"));
    EXPECT_EQ(now.elapsed, 58min);
    EXPECT_FALSE(now.is_provisional);
    EXPECT_TRUE(now.is_settled());
}

// Doses so many hours before noon, rising; the named ones are the later of an undecided pair.
struct Row {
    std::vector<GivenDose> doses;
    std::vector<PossibleDouble> doubles;

    void add(microseconds before, bool waits = false) {
        GivenDose dose;
        dose.id = NameSpace("test").id_for(std::to_string(doses.size()));
        dose.at = noon - before;
        doses.push_back(dose);
        if (waits) doubles.push_back({0, doses.size() - 1, DoubleKind::second_injection, false});
    }
    SinceDose at(Instant when) const { return since_dose(doses, doubles, {}, when, {}); }
};

TEST(SinceDoseTest, SeveralProvisionalDosesLeadBackToTheLastCertainOne) {
    Row row;
    row.add(9h);
    row.add(8h);
    row.add(2h, true);
    row.add(1h, true);
    row.add(-1h, true);
    const SinceDose found = row.at(noon);
    EXPECT_EQ(found.dose, row.doses[3].id);
    EXPECT_EQ(found.elapsed, 1h);
    EXPECT_EQ(found.certain_dose, row.doses[1].id);
    EXPECT_EQ(found.certain_elapsed, 8h);
    EXPECT_THAT(found.undecided, ElementsAre(row.doses[2].id, row.doses[3].id));
}

TEST(SinceDoseTest, UndecidedDoseIsNamedForADay) {
    Row row;
    row.add(25h);
    row.add(24h, true);
    row.add(1h);
    EXPECT_THAT(row.at(noon).undecided, ElementsAre(row.doses[1].id));
    EXPECT_FALSE(row.at(noon).is_provisional);
    EXPECT_TRUE(row.at(noon + 1us).is_settled());
    EXPECT_THAT(row.at(noon - 24h).undecided, ElementsAre(row.doses[1].id));
    EXPECT_THAT(row.at(noon - 24h - 1us).undecided, IsEmpty());
}

// Nobody recorded anything of the slot of 27 October 08:00.
TEST(SinceDoseTest, SlotWithoutARecordIsNamedForADay) {
    const Instant due = instant("2026-10-27T08:00Z");
    EXPECT_THAT(since("2026-10-27T08:00Z").without_record, IsEmpty());
    EXPECT_THAT(since("2026-10-27T08:00:01Z").without_record, ElementsAre(due));
    EXPECT_THAT(since("2026-10-28T08:00Z").without_record, ElementsAre(due));
    EXPECT_FALSE(since("2026-10-28T08:00Z").is_settled());
    EXPECT_TRUE(since("2026-10-28T08:00:01Z").is_settled());
    EXPECT_EQ(since("2026-10-27T19:59Z").elapsed, 23h + 14min);
}

TEST(SinceDoseTest, HeldAndMissedSlotsAreSettledAndOthersOnlyWhenFilled) {
    EXPECT_TRUE(since("2026-10-16T12:00Z").is_settled());
    EXPECT_TRUE(since("2026-10-19T06:00Z").is_settled());
    EXPECT_FALSE(since("2026-10-27T13:00Z", {}, instant("2026-10-27T13:00Z")).is_settled());
    EXPECT_FALSE(since("2026-10-27T14:01Z", {}, instant("2026-10-27T14:01Z")).is_settled());
}

// Beside what a look at every dose says.
TEST(SinceDoseTest, AgreesWithALookAtEveryDose) {
    constexpr unsigned seed = 20261101;
    SCOPED_TRACE(seed);
    std::mt19937 chance(seed);
    const auto up_to = [&](int most) { return std::uniform_int_distribution<>(0, most)(chance); };
    for (int run = 0; run < 500; ++run) {
        Row row;
        std::vector<bool> waits;
        auto before = 40h;
        for (int i = up_to(12); i > 0; --i) {
            before -= std::chrono::hours(up_to(6));
            waits.push_back(!waits.empty() && up_to(2) == 0);
            row.add(before, waits.back());
        }
        const Instant at = noon - std::chrono::hours(up_to(30));
        std::optional<EntryId> last;
        std::optional<EntryId> certain;
        std::vector<EntryId> undecided;
        for (std::size_t i = 0; i < waits.size() && row.doses[i].at <= at; ++i) {
            last = row.doses[i].id;
            if (!waits[i]) certain = last;
            if (waits[i] && row.doses[i].at >= at - 24h) undecided.push_back(*last);
        }
        const SinceDose found = row.at(at);
        EXPECT_EQ(found.dose, last) << run;
        EXPECT_EQ(found.is_provisional ? found.certain_dose : found.dose, certain) << run;
        EXPECT_EQ(found.undecided, undecided) << run;
    }
}

}  // namespace
}  // namespace nightferry::care
