// Which lines of the log are written when the same happens again and again, by a clock that is set by hand.
#include "daemon/watching/log_repeats.hpp"

#include <gtest/gtest.h>

namespace nightferry::watching {

namespace {

using namespace std::chrono_literals;
using testing::ElementsAre;
using testing::IsEmpty;

class LogRepeatsTest : public testing::Test {
 protected:
    std::vector<std::string> told(const std::vector<LogLine>& lines) {
        std::vector<std::string> words;
        for (const LogLine& line : lines) {
            std::string one(kind_of(line.event).name);
            for (const auto& [key, value] : line.facts)
                one += " " + value;
            if (line.left_out > 0) one += " left out " + std::to_string(line.left_out);
            words.push_back(one);
        }
        return words;
    }
    std::vector<std::string> on(LogEvent event, std::vector<Log::Fact> facts = {}) {
        return told(repeats_.on(event, facts, now_));
    }
    std::vector<std::string> on_answer(const std::string& clinic, const std::string& outcome) {
        return on(LogEvent::clinic_answered_badly, {{"clinic", clinic}, {"outcome", outcome}});
    }

    LogRepeats repeats_;
    Instant now_ = std::chrono::sys_days(std::chrono::year(2026) / 10 / 12) + 2h;
};

TEST_F(LogRepeatsTest, WhatMattersEachTimeIsToldEachTime) {
    for (int i = 0; i < 3; ++i)
        EXPECT_THAT(on(LogEvent::pass_started, {{"clinic", "north"}}), ElementsAre("pass_started north"));
    EXPECT_THAT(told(repeats_.at_end()), IsEmpty());
}

TEST_F(LogRepeatsTest, TheSameIsToldOnceUntilItsPauseIsOver) {
    EXPECT_THAT(on_answer("north", "http_503"), ElementsAre("clinic_answered_badly north http_503"));
    for (int i = 0; i < 59; ++i) {
        now_ += 1min;
        EXPECT_THAT(on_answer("north", "http_503"), IsEmpty()) << i;
    }
    now_ += 1min;
    EXPECT_THAT(on_answer("north", "http_503"),
                ElementsAre("clinic_answered_badly north http_503 left out 59",
                            "clinic_answered_badly north http_503"));
    now_ += 1min;
    EXPECT_THAT(on_answer("north", "http_503"), IsEmpty()) << "a new pause has begun";
}

TEST_F(LogRepeatsTest, AnotherClinicPartOrOutcomeIsNotTheSame) {
    EXPECT_THAT(on_answer("north", "http_503"), ElementsAre("clinic_answered_badly north http_503"));
    EXPECT_THAT(on_answer("south", "http_503"), ElementsAre("clinic_answered_badly south http_503"));
    EXPECT_THAT(on_answer("north", "unreachable"), ElementsAre("clinic_answered_badly north unreachable"));
    EXPECT_THAT(on_answer("north", "http_503"), IsEmpty());
    EXPECT_THAT(on(LogEvent::disk_full, {{"what", "inbox"}}), ElementsAre("disk_full inbox"));
    EXPECT_THAT(on(LogEvent::disk_full, {{"what", "flags"}}), ElementsAre("disk_full flags"));
    EXPECT_THAT(on(LogEvent::disk_full, {{"what", "inbox"}}), IsEmpty());
}

TEST_F(LogRepeatsTest, FiguresThatDifferAreStillTheSame) {
    EXPECT_THAT(on(LogEvent::clock_in_doubt, {{"clinic", "north"}, {"clinic_ahead_seconds", "300"}}),
                ElementsAre("clock_in_doubt north 300"));
    EXPECT_THAT(on(LogEvent::clock_in_doubt, {{"clinic", "north"}, {"clinic_ahead_seconds", "301"}}),
                IsEmpty());
    EXPECT_THAT(told(repeats_.at_end()), ElementsAre("clock_in_doubt north 301 left out 1"))
        << "with the newest figures";
}

TEST_F(LogRepeatsTest, WhatIsOwedComesWithTheNextEventOfAnyKind) {
    (void)on_answer("north", "http_503");
    (void)on_answer("north", "http_503");
    now_ += 59min;
    EXPECT_THAT(on(LogEvent::file_taken), ElementsAre("file_taken"));
    now_ += 1min;
    EXPECT_THAT(on(LogEvent::file_taken),
                ElementsAre("clinic_answered_badly north http_503 left out 1", "file_taken"));
    EXPECT_THAT(on(LogEvent::file_taken), ElementsAre("file_taken"));
}

TEST_F(LogRepeatsTest, WhatWasLeftOutHasItsFirstAndItsNewestTime) {
    (void)on_answer("north", "http_503");
    const std::vector<Log::Fact> facts{{"clinic", "north"}, {"outcome", "http_503"}};
    const Instant first = now_ + 10min;
    for (now_ = first; now_ <= first + 20min; now_ += 10min)
        (void)repeats_.on(LogEvent::clinic_answered_badly, facts, now_);
    const auto owed = repeats_.at_end();
    ASSERT_EQ(owed.size(), 1u);
    EXPECT_EQ(owed[0].left_out, 3);
    EXPECT_EQ(owed[0].since, first);
    EXPECT_EQ(owed[0].newest, first + 20min);
}

TEST_F(LogRepeatsTest, WhatIsOwedAtTheEndIsToldOnce) {
    (void)on_answer("north", "http_503");
    EXPECT_THAT(told(repeats_.at_end()), IsEmpty());
    (void)on_answer("north", "http_503");
    (void)on_answer("north", "http_503");
    EXPECT_THAT(told(repeats_.at_end()), ElementsAre("clinic_answered_badly north http_503 left out 1"));
    EXPECT_THAT(told(repeats_.at_end()), IsEmpty());
}

TEST_F(LogRepeatsTest, HowItEndedIsTheLastLine) {
    (void)on_answer("north", "http_503");
    (void)on_answer("north", "http_503");
    EXPECT_THAT(on(LogEvent::ended), ElementsAre("clinic_answered_badly north http_503 left out 1", "ended"));
    EXPECT_THAT(told(repeats_.at_end()), IsEmpty());
}

TEST_F(LogRepeatsTest, ClockThatIsSetBackSilencesNothing) {
    (void)on_answer("north", "http_503");
    now_ -= 24h;
    EXPECT_THAT(on_answer("north", "http_503"), ElementsAre("clinic_answered_badly north http_503"));
}

TEST_F(LogRepeatsTest, RemindersOfADayWaitForADay) {
    const std::vector<Log::Fact> north{{"clinic", "north"}};
    EXPECT_THAT(on(LogEvent::hub_certificate_ends, north), ElementsAre("hub_certificate_ends north"));
    now_ += 24h - 1s;
    EXPECT_THAT(on(LogEvent::hub_certificate_ends, north), IsEmpty());
    now_ += 1s;
    EXPECT_THAT(on(LogEvent::hub_certificate_ends, north),
                ElementsAre("hub_certificate_ends north left out 1", "hub_certificate_ends north"));
}

TEST_F(LogRepeatsTest, HowMuchIsRememberedHasALimit) {
    std::size_t written = 0;
    for (int i = 0; i < 3000; ++i)
        written += on_answer("clinic-" + std::to_string(i), "unreachable").size();
    EXPECT_EQ(written, 3000u);
    EXPECT_THAT(on_answer("clinic-7", "unreachable"), IsEmpty());
    EXPECT_THAT(on_answer("clinic-2999", "unreachable"),
                ElementsAre("clinic_answered_badly clinic-2999 unreachable"))
        << "rather too much than too little";
}

}  // namespace

}  // namespace nightferry::watching
