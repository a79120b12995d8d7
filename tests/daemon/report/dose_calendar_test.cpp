// The calendar shows every scheduled dose once, by what became of it, whatever the period.
#include "tests/daemon/report/fortnight_page.hpp"

namespace nightferry::report {
namespace {

using namespace test;

// How often a mark stands in the calendar; the legend shows each once more.
std::size_t marks(const std::string& page, const std::string& word) {
    return times(page, "<g class=\"mark " + word + "\"") - 1;
}

constexpr std::array words{"on_time",   "early", "late", "very_late", "missed",     "no_record",
                           "undecided", "held",  "due",  "extra",     "provisional"};

void expect_marks_as_counted(const fhir::json::Document& answer) {
    const std::string page = page_of(answer);
    const fhir::json::Value& counts = *answer.root().find("figures")->find("counts");
    for (const char* word : words)
        EXPECT_EQ(std::to_string(marks(page, word)), counts.find(word)->text()) << word;
}

TEST(DoseCalendarTest, MarksAreAsManyAsTheAnswerCounts) {
    const auto answer = report_of({fortnight_from, fortnight_to});
    expect_marks_as_counted(answer);
    // Worked out by hand from the demo's table of injections.
    const std::string page = page_of(answer);
    EXPECT_EQ(marks(page, "on_time"), 34U);
    EXPECT_EQ(marks(page, "held"), 3U);
    EXPECT_EQ(marks(page, "very_late"), 1U);
    EXPECT_EQ(times(page, "class=\"amount-sign\"") - 1, 1U) << "0.18 mL where 0.20 mL was ordered";
}

TEST(DoseCalendarTest, WhatIsNotDecidedOrStillDueHasAMarkToo) {
    // The evening of 17 October, when the same dose had been written down by both carers.
    const auto at = instant("2026-10-17T19:30Z");
    const auto answer = report_of({fortnight_from, fortnight_to}, at);
    expect_marks_as_counted(answer);
    EXPECT_EQ(marks(page_of(answer), "provisional"), 1U);
    EXPECT_GT(marks(page_of(answer), "due"), 20U);
}

TEST(DoseCalendarTest, ADayIsOneBlockAndAYearIsABlockForEachMonth) {
    const auto block = [](const std::string& page) { return times(page, "<title id=\"c"); };
    const auto day = report_of({instant("2026-10-12T00:00+01:00"), instant("2026-10-13T00:00+01:00")});
    expect_marks_as_counted(day);
    EXPECT_EQ(block(page_of(day)), 1U);
    EXPECT_EQ(times(page_of(day), "class=\"day\""), 1U);
    care::Plan plan = fortnight_plan();
    plan.regimen.end.reset();
    const auto year = report_of({instant("2026-01-01T00:00Z"), instant("2027-01-01T00:00Z")},
                                instant("2026-12-31T00:00Z"), plan);
    expect_marks_as_counted(year);
    const std::string page = page_of(year);
    EXPECT_EQ(block(page), 12U);
    EXPECT_EQ(times(page, "class=\"day\""), 365U);
    EXPECT_GT(marks(page, "no_record"), 100U);
}

TEST(DoseCalendarTest, TwoMedicinesAtOneTimeStandInRowsOfTheirOwn) {
    fhir::json::Document answer;
    answer.root().add_string("from", "2026-10-12T00:00:00Z");
    answer.root().add_string("to", "2026-10-13T00:00:00Z");
    answer.root().add_string("zone", "Etc/UTC");
    fhir::json::Value& slots = answer.root().add_array("slots");
    for (const char* medicine : {"enoxaparin-100", "dalteparin-10000"}) {
        fhir::json::Value& slot = slots.push_object();
        slot.add_string("due", "2026-10-12T08:00:00Z");
        slot.add_string("medicine", medicine);
        slot.add_string("fate", "no_record");
    }
    const std::string page = page_of(answer);
    EXPECT_EQ(marks(page, "no_record"), 2U);
    EXPECT_EQ(times(page, ">08:00 enoxaparin-100</text>"), 1U);
    EXPECT_EQ(times(page, ">08:00 dalteparin-10000</text>"), 1U);
}

TEST(DoseCalendarTest, WithoutSlotsOrDosesThereIsNoCalendar) {
    const auto before = report_of({instant("2026-09-01T00:00+01:00"), instant("2026-09-02T00:00+01:00")});
    const std::string page = page_of(before);
    EXPECT_NE(page.find("No dose was scheduled in this period."), std::string::npos);
    EXPECT_EQ(page.find("class=\"calendar\""), std::string::npos);
    EXPECT_NE(page.find("not calculable"), std::string::npos);
}

}  // namespace
}  // namespace nightferry::report
