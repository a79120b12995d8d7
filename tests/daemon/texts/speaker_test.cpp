// How texts are filled in, and how each language writes numbers and dates.
#include "daemon/texts/speaker.hpp"

#include <gtest/gtest.h>

namespace nightferry::texts {

enum class Sample { greeting, doses, only_english };

template <>
struct Texts<Sample> {
    static constexpr Line<Sample> all[] = {
        {Sample::greeting, "{2} was given by {1}, {2}", "{1} gab {2}"},
        {Sample::doses, "{n} dose of {1}|{n} doses of {1}", "{n} Dosis von {1}|{n} Dosen von {1}"},
        {Sample::only_english, "{} and {10} are no places", ""},
    };
    static std::span<const Line<Sample>> lines() { return all; }
};

namespace {

using std::chrono::October;

const Speaker english{Language::english};
const Speaker german{Language::german};

TEST(SpeakerTest, FillsInWhatIsToldWhereTheLanguageHasIt) {
    EXPECT_EQ(english.say(Sample::greeting, {"Tove", "0.2 mL"}), "0.2 mL was given by Tove, 0.2 mL");
    EXPECT_EQ(german.say(Sample::greeting, {"Tove", "0,2 mL"}), "Tove gab 0,2 mL");
    EXPECT_EQ(english.say(Sample::greeting, {"{2}", "{1}"}), "{1} was given by {2}, {1}")
        << "what is told is not read";
}

TEST(SpeakerTest, TakesTheFormOfTheNumber) {
    EXPECT_EQ(english.count(Sample::doses, 1, {"V3"}), "1 dose of V3");
    EXPECT_EQ(english.count(Sample::doses, 0, {"V3"}), "0 doses of V3");
    EXPECT_EQ(german.count(Sample::doses, 28, {"V3"}), "28 Dosen von V3");
    EXPECT_EQ(german.count(Sample::doses, 1, {"V3"}), "1 Dosis von V3");
}

TEST(SpeakerTest, WhatIsNotTranslatedIsSaidInEnglish) {
    EXPECT_EQ(german.say(Sample::only_english), "{} and {10} are no places");
}

// The forms that the Unicode CLDR (version 44, main/en and main/de) gives: decimal symbols, abbreviated
// weekdays, dates.
TEST(SpeakerTest, WritesNumbersAndDatesAsTheLanguageDoes) {
    EXPECT_EQ(english.number("0.20"), "0.20");
    EXPECT_EQ(german.number("0.20"), "0,20");
    const std::chrono::year_month_day day{std::chrono::year{2026} / October / 5};
    EXPECT_EQ(english.date(day), "5 Oct 2026");
    EXPECT_EQ(german.date(day), "05.10.2026");
    EXPECT_EQ(english.day_and_month(day), "5 Oct");
    EXPECT_EQ(german.day_and_month(day), "05.10.");
    EXPECT_EQ(english.time_of_day(std::chrono::minutes{8 * 60 + 5}), "08:05");
    EXPECT_EQ(german.time_of_day(std::chrono::minutes{20 * 60}), "20:00");
    EXPECT_EQ(english.weekday(std::chrono::Monday), "Mon");
    EXPECT_EQ(german.weekday(std::chrono::Sunday), "So");
}

TEST(SpeakerTest, KnowsLanguagesByTheirTags) {
    EXPECT_EQ(language_tagged("de"), Language::german);
    EXPECT_EQ(language_tagged("en"), Language::english);
    EXPECT_EQ(language_tagged("tlh"), std::nullopt);
    EXPECT_EQ(tag_of(Language::german), "de");
}

}  // namespace

}  // namespace nightferry::texts
