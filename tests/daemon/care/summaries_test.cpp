// Summaries of the days and weeks of the demo's fortnight; its numbers were worked out by hand.
#include "daemon/care/summaries.hpp"

#include <set>

#include "tests/daemon/care/fortnight.hpp"

namespace nightferry::care {
namespace {

using namespace test;
using entry::Count;
using entry::Summary;

std::vector<entry::Entry> summaries(Instant known_at, std::string_view end = "2026-11-02T00:00Z") {
    static const std::vector<Revisions> entries = fortnight_entries();
    Plan plan;
    plan.person = "juniper";
    plan.regimen = fortnight();
    plan.regimen.end = instant(end);
    const Review review = review_of(plan, household(), entries, {known_at, known_at}, known_at);
    return summaries_of(review, plan, household());
}

const Summary& of_day(const std::vector<entry::Entry>& all, std::string_view first,
                      entry::SummaryOf of = entry::SummaryOf::day) {
    for (const entry::Entry& one : all) {
        const auto& summary = std::get<Summary>(one.what);
        if (summary.of == of && to_text(summary.first) == first) return summary;
    }
    static const Summary none{};
    ADD_FAILURE() << "no summary of " << first;
    return none;
}

std::size_t number_of(const std::vector<entry::Entry>& all, entry::SummaryOf of) {
    return static_cast<std::size_t>(std::count_if(all.begin(), all.end(), [&](const entry::Entry& one) {
        return std::get<Summary>(one.what).of == of;
    }));
}

TEST(SummariesTest, EveryDayAndWholeWeekOfTheFortnightHasOne) {
    const auto all = summaries(long_after);
    EXPECT_EQ(number_of(all, entry::SummaryOf::day), 21U);
    EXPECT_EQ(number_of(all, entry::SummaryOf::week), 3U);
    std::set<std::string> names;
    for (const entry::Entry& one : all)
        names.insert(name_of_summary(one));
    EXPECT_EQ(names.size(), all.size());
}

TEST(SummariesTest, WeeksAddUpAsWorkedOutByHand) {
    const auto all = summaries(long_after);
    const auto filled = [&](std::string_view monday) {
        const Summary& week = of_day(all, monday, entry::SummaryOf::week);
        return std::to_string(week.count(Count::filled)) + " of " +
               std::to_string(week.count(Count::ordered));
    };
    EXPECT_EQ(filled("2026-10-12"), "11 of 12");
    EXPECT_EQ(filled("2026-10-19"), "14 of 14");
    EXPECT_EQ(filled("2026-10-26"), "12 of 13");
}

TEST(SummariesTest, DaysAddUpToTheWholePeriod) {
    std::map<Count, std::int64_t> sums;
    Decimal given;
    for (const entry::Entry& one : summaries(long_after)) {
        const auto& day = std::get<Summary>(one.what);
        if (day.of != entry::SummaryOf::day) continue;
        for (const auto& [count, number] : day.counts)
            sums[count] += number;
        for (const Summary::Content& content : day.contents)
            given = add(given, content.given).value();
    }
    EXPECT_EQ(sums[Count::ordered], 39);
    EXPECT_EQ(sums[Count::given], 38);
    EXPECT_EQ(sums[Count::filled], 37);
    EXPECT_EQ(sums[Count::late], 1);
    EXPECT_EQ(sums[Count::very_late], 1);
    EXPECT_EQ(sums[Count::missed], 1);
    EXPECT_EQ(sums[Count::no_record], 1);
    EXPECT_EQ(sums[Count::held], 3);
    EXPECT_EQ(sums[Count::extra], 1);
    EXPECT_EQ(sums[Count::near_time], 34);
    EXPECT_EQ(sums[Count::as_ordered_amount], 36);
    EXPECT_EQ(sums[Count::days], 21);
    EXPECT_EQ(sums[Count::days_as_ordered], 18);
    EXPECT_EQ(given, Decimal(726, 0));
}

// The evening's slot at 20:00 stays due until 02:00, if nothing fills it.
TEST(SummariesTest, DayIsClosedOnlyWhenNoneOfItsSlotsIsDue) {
    EXPECT_EQ(number_of(summaries(instant("2026-10-12T22:59Z")), entry::SummaryOf::day), 0U);
    EXPECT_EQ(number_of(summaries(instant("2026-10-12T23:01Z")), entry::SummaryOf::day), 1U);
    // On the 18th the evening's dose was not given, and written down as such in the morning.
    EXPECT_EQ(number_of(summaries(instant("2026-10-19T00:59Z")), entry::SummaryOf::day), 6U);
    EXPECT_EQ(number_of(summaries(instant("2026-10-19T01:01Z")), entry::SummaryOf::day), 7U);
    EXPECT_EQ(of_day(summaries(instant("2026-10-19T01:01Z")), "2026-10-18").count(Count::no_record), 1);
    EXPECT_EQ(of_day(summaries(instant("2026-10-19T06:31Z")), "2026-10-18").count(Count::missed), 1);
}

// What is given after the end is told, and on the days when nothing was there is nothing to tell.
TEST(SummariesTest, AfterTheEndOnlyWhatWasGivenIsSummarized) {
    const auto all = summaries(long_after, "2026-10-15T00:00Z");
    EXPECT_EQ(number_of(all, entry::SummaryOf::day), 21U);
    EXPECT_EQ(number_of(all, entry::SummaryOf::week), 1U);
    EXPECT_EQ(of_day(all, "2026-10-20").count(Count::ordered), 0);
    EXPECT_EQ(of_day(all, "2026-10-20").count(Count::extra), 2);
}

// A hub that is set up in the middle of a treatment says nothing of the time before.
TEST(SummariesTest, NothingIsMissingBeforeTheFirstDoseWrittenDown) {
    Plan plan;
    plan.person = "juniper";
    plan.regimen = fortnight();
    Known known = fortnight_known();
    const Instant begins = instant("2026-10-20T00:00Z");
    std::erase_if(known.doses, [&](const GivenDose& dose) { return dose.at < begins; });
    std::erase_if(known.not_given, [&](const NotGiven& one) { return one.due < begins; });
    const Review review =
        review_of_known(plan, household(), known, {fortnight_from, fortnight_to}, fortnight_to);
    EXPECT_EQ(to_text(std::get<Summary>(summaries_of(review, plan, household()).front().what).first),
              "2026-10-20");
    for (const Flag& flag : review.flags)
        EXPECT_TRUE(flag.kind != FlagKind::no_record || flag.about > begins) << flag.reason;
    const Review nothing =
        review_of_known(plan, household(), {}, {fortnight_from, fortnight_to}, fortnight_to);
    EXPECT_TRUE(summaries_of(nothing, plan, household()).empty());
    EXPECT_TRUE(nothing.flags.empty());
}

// The clocks went back: the day had 25 hours.
TEST(SummariesTest, DayBeginsAndEndsAtLocalMidnight) {
    for (const entry::Entry& one : summaries(long_after)) {
        const auto& summary = std::get<Summary>(one.what);
        if (summary.of != entry::SummaryOf::day || to_text(summary.first) != "2026-10-25") continue;
        EXPECT_EQ(to_text(summary.begins), "2026-10-25T00:00:00+01:00");
        EXPECT_EQ(to_text(one.time), "2026-10-26T00:00:00+00:00");
    }
}

}  // namespace
}  // namespace nightferry::care
