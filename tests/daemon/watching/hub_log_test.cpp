// The forms of a line, and which of them goes where.
#include "daemon/watching/hub_log.hpp"

#include <gtest/gtest.h>

#include "daemon/watching/log_forms.hpp"

namespace nightferry::watching {

namespace {

using namespace std::chrono_literals;
using testing::ElementsAre;
using testing::IsEmpty;

const Instant night = std::chrono::sys_days(std::chrono::year(2026) / 10 / 12) + 2h + 250ms;

struct FixedClock final : Clock {
    Instant now() const override { return time; }
    Instant time = night;
};

const LogLine refusal{LogEvent::clinic_answered_badly, {{"clinic", "north"}, {"outcome", "http_503"}}};

LogLine with_reason(std::string reason) {
    return {LogEvent::not_closed_cleanly, {{"reason", std::move(reason)}}};
}

TEST(LogFormsTest, TextIsOneLineWithTimeLevelEventAndFacts) {
    EXPECT_EQ(text_line(refusal, night),
              "2026-10-12T02:00:00.250Z warning clinic_answered_badly clinic=north outcome=http_503\n");
    EXPECT_EQ(text_line({LogEvent::disk_full, {{"what", "inbox"}}}, night),
              "2026-10-12T02:00:00.250Z error disk_full what=inbox\n");
    EXPECT_EQ(text_line({LogEvent::stopped, {}}, night), "2026-10-12T02:00:00.250Z info stopped\n");
}

TEST(LogFormsTest, TextStaysOneLineWhateverAFactHolds) {
    EXPECT_EQ(text_line(with_reason("a \"b\"\\\nc\td\x1b[1m"), night),
              "2026-10-12T02:00:00.250Z warning not_closed_cleanly reason=\"a \\\"b\\\"\\\\ c d [1m\"\n");
    EXPECT_EQ(text_line(with_reason(""), night),
              "2026-10-12T02:00:00.250Z warning not_closed_cleanly reason=\"\"\n");
}

TEST(LogFormsTest, JsonIsOneObjectALine) {
    EXPECT_EQ(
        json_line(refusal, night),
        R"({"time":"2026-10-12T02:00:00.250Z","level":"warning","event":"clinic_answered_badly","clinic":"north",)"
        R"("outcome":"http_503"})"
        "\n");
    // RFC 8259 section 7: quotation mark, reverse solidus and control characters are escaped; section 8.1:
    // UTF-8.
    EXPECT_EQ(json_line(with_reason("\"\\\n\xff\xc3\xa9"), night),
              R"({"time":"2026-10-12T02:00:00.250Z","level":"warning","event":"not_closed_cleanly",)"
              "\"reason\":\"\\\"\\\\\\n?\xc3\xa9\"}\n");
}

TEST(LogFormsTest, WhatWasLeftOutIsNoNewErrorAndSaysWhenItWas) {
    const LogLine line{LogEvent::disk_full, {{"what", "inbox"}}, 12, night - 60min, night - 2min};
    EXPECT_EQ(text_line(line, night),
              "2026-10-12T02:00:00.250Z info disk_full what=inbox left_out=12 "
              "since=2026-10-12T01:00:00.250Z newest=2026-10-12T01:58:00.250Z\n");
    EXPECT_THAT(journal_entry(line), testing::HasSubstr("\nPRIORITY=6\n"));
    EXPECT_THAT(json_line(line, night), testing::HasSubstr(R"("level":"info")"));
}

TEST(LogFormsTest, NumbersAreNumbersInJson) {
    const std::vector<Log::Fact> facts{{"clinic", "7"}, {"clinic_ahead_seconds", "-301"}};
    EXPECT_EQ(json_line({LogEvent::clock_in_doubt, facts, 3, night, night}, night),
              R"({"time":"2026-10-12T02:00:00.250Z","level":"info","event":"clock_in_doubt","clinic":"7",)"
              R"("clinic_ahead_seconds":-301,"left_out":3,"since":"2026-10-12T02:00:00.250Z",)"
              R"("newest":"2026-10-12T02:00:00.250Z"})"
              "\n");
}

TEST(LogFormsTest, JournalGetsFieldsOfItsOwn) {
    // https://systemd.io/JOURNAL_NATIVE_PROTOCOL/ and systemd.journal-fields(7); priorities of RFC 5424.
    EXPECT_EQ(journal_entry(refusal),
              "MESSAGE=clinic_answered_badly clinic=north outcome=http_503\n"
              "PRIORITY=4\n"
              "SYSLOG_IDENTIFIER=nightferryd\n"
              "NIGHTFERRY_EVENT=clinic_answered_badly\n"
              "NIGHTFERRY_CLINIC=north\n"
              "NIGHTFERRY_OUTCOME=http_503\n");
    EXPECT_THAT(journal_entry({LogEvent::pass_ended, {}}), testing::HasSubstr("\nPRIORITY=6\n"));
    EXPECT_THAT(journal_entry({LogEvent::disk_full, {}}), testing::HasSubstr("\nPRIORITY=3\n"));
}

TEST(LogFormsTest, ValueOfSeveralLinesGoesToTheJournalBehindItsLength) {
    // The protocol: the name, a line feed, the length as 64 bits little-endian, the value, a line feed.
    const std::string entry = journal_entry(with_reason("a\nb"));
    const std::string field =
        std::string("NIGHTFERRY_REASON\n") + std::string("\3\0\0\0\0\0\0\0", 8) + "a\nb\n";
    EXPECT_TRUE(entry.ends_with(field));
    EXPECT_TRUE(entry.starts_with("MESSAGE=not_closed_cleanly reason=\"a b\"\n"));
}

class HubLogTest : public testing::Test {
 protected:
    HubLog log(LogForm form) {
        return HubLog(form,
                      {[this](std::string_view line) { written_.emplace_back(line); },
                       [this](std::string_view entry) {
                           if (journal_answers_ == JournalAnswer::taken) journal_.emplace_back(entry);
                           return journal_answers_;
                       },
                       is_standard_error_the_journal_},
                      clock_);
    }

    FixedClock clock_;
    JournalAnswer journal_answers_ = JournalAnswer::taken;
    bool is_standard_error_the_journal_ = false;
    std::vector<std::string> written_;
    std::vector<std::string> journal_;
};

TEST_F(HubLogTest, WhatTheJournalDoesNotTakeIsWrittenAsText) {
    HubLog hub = log(LogForm::journal);
    hub.event(LogEvent::stopping);
    EXPECT_THAT(written_, IsEmpty());
    EXPECT_THAT(journal_, ElementsAre(journal_entry({LogEvent::stopping, {}})));
    journal_answers_ = JournalAnswer::none;
    hub.event(LogEvent::stopped);
    journal_answers_ = JournalAnswer::held_up;
    hub.event(LogEvent::reloading);
    EXPECT_THAT(written_, ElementsAre("2026-10-12T02:00:00.250Z info stopped\n",
                                      "2026-10-12T02:00:00.250Z info reloading\n"));
}

TEST_F(HubLogTest, AJournalThatIsHeldUpIsNotWaitedForByAnotherWay) {
    is_standard_error_the_journal_ = true;
    HubLog hub = log(LogForm::journal);
    journal_answers_ = JournalAnswer::held_up;
    for (int i = 0; i < 3; ++i)
        hub.event(LogEvent::reloading);
    EXPECT_THAT(written_, IsEmpty()) << "a write to standard error would wait";
    journal_answers_ = JournalAnswer::taken;
    hub.event(LogEvent::stopping);
    hub.event(LogEvent::stopped);
    EXPECT_THAT(journal_, ElementsAre(journal_entry({LogEvent::stopping, {}}),
                                      journal_entry({LogEvent::log_lines_lost, {{"number", "3"}}}),
                                      journal_entry({LogEvent::stopped, {}})));
}

TEST_F(HubLogTest, LinesThatReachTheJournalByStandardErrorBearTheirPriority) {
    is_standard_error_the_journal_ = true;
    // sd-daemon(3): "<3>" to "<6>" in front of a line, by the severities of RFC 5424.
    log(LogForm::text).event(LogEvent::disk_full, {{"what", "inbox"}});
    HubLog none = log(LogForm::journal);
    journal_answers_ = JournalAnswer::none;
    none.event(LogEvent::stopped);
    EXPECT_THAT(written_, ElementsAre("<3>2026-10-12T02:00:00.250Z error disk_full what=inbox\n",
                                      "<6>2026-10-12T02:00:00.250Z info stopped\n"));
}

TEST_F(HubLogTest, AFactThatTheEventDoesNotBearIsOurBug) {
    HubLog hub = log(LogForm::text);
    EXPECT_DEATH(hub.event(LogEvent::ready, {{"person", "juniper"}}), "bears");
}

TEST_F(HubLogTest, OtherFormsLeaveTheJournalAlone) {
    log(LogForm::json).event(LogEvent::stopped);
    log(LogForm::text).event(LogEvent::stopped);
    EXPECT_THAT(
        written_,
        ElementsAre("{\"time\":\"2026-10-12T02:00:00.250Z\",\"level\":\"info\",\"event\":\"stopped\"}\n",
                    "2026-10-12T02:00:00.250Z info stopped\n"));
    EXPECT_THAT(journal_, IsEmpty());
}

TEST_F(HubLogTest, RepeatsAreLeftOutAndToldAtTheEnd) {
    {
        HubLog hub = log(LogForm::text);
        for (int i = 0; i < 5; ++i)
            hub.event(LogEvent::inbox_unreadable, {{"reason", "Permission denied"}});
        EXPECT_EQ(written_.size(), 1u);
    }
    EXPECT_THAT(
        written_,
        ElementsAre("2026-10-12T02:00:00.250Z error inbox_unreadable reason=\"Permission denied\"\n",
                    "2026-10-12T02:00:00.250Z info inbox_unreadable reason=\"Permission denied\" left_out=4 "
                    "since=2026-10-12T02:00:00.250Z newest=2026-10-12T02:00:00.250Z\n"));
}

TEST_F(HubLogTest, CountsKnowWhatWasLeftOut) {
    HubLog hub = log(LogForm::text);
    CountedLog counted(hub);
    for (int i = 0; i < 5; ++i)
        counted.event(LogEvent::disk_full, {{"what", "inbox"}});
    EXPECT_EQ(written_.size(), 1u);
    EXPECT_EQ(counted.counts().at(static_cast<std::size_t>(LogEvent::disk_full)), 5);
    EXPECT_EQ(counted.counts().at(static_cast<std::size_t>(LogEvent::ready)), 0);
}

}  // namespace

}  // namespace nightferry::watching
