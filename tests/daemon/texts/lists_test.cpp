// The lists of texts: complete in both languages, and none that instructs about a dose.
#include <gtest/gtest.h>

#include "daemon/texts/care_words.hpp"
#include "daemon/texts/page_texts.hpp"
#include "daemon/texts/report_texts.hpp"
#include "tests/daemon/texts/tone.hpp"

namespace nightferry::texts {

namespace {

TEST(TextListsTest, AreCompleteInBothLanguagesAndInstructNobody) {
    test::expect_complete_and_calm(Texts<ReportText>::lines());
    test::expect_complete_and_calm(Texts<PageText>::lines());
    test::expect_complete_and_calm(care_words());
}

TEST(TextListsTest, TheirCheckFindsWhatItLooksFor) {
    EXPECT_TRUE(test::instructs_in_english("Skip this dose"));
    EXPECT_TRUE(test::instructs_in_german("Bitte auslassen"));
    EXPECT_FALSE(test::instructs_in_english("It was given"));
}

}  // namespace

}  // namespace nightferry::texts
