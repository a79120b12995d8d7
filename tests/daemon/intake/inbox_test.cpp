// What becomes of files in the inbox folder.
#include "daemon/intake/inbox.hpp"

#include <boost/asio/io_context.hpp>
#include <csignal>
#include <fstream>

#include "daemon/intake/inbox_watch.hpp"
#include "tests/daemon/intake/inbox_folder.hpp"

namespace nightferry::intake {

namespace {

TEST_F(InboxTest, GoodFilesOfEveryFormatGoToDone) {
    drop("a.csv", weight_rows({"w1,weight,juniper,2026-10-12T08:00,marlow,18.4"}));
    drop("b.JSON", "[" + weight("w2") + "," + weight("w3") + "]");
    drop("c.ndjson", weight("w4"));
    drop("d.jsonl", weight("w4") + weight("w5"));
    EXPECT_EQ(sweep().taken, 4u);
    EXPECT_EQ(files(), (Names{"done/a.csv", "done/b.JSON", "done/c.ndjson", "done/d.jsonl"}));
    EXPECT_EQ(hub_.entries(), 5u);
    EXPECT_EQ(
        hub_.log.lines,
        (Names{"info file_taken accepted=1 already_there=0", "info file_taken accepted=2 already_there=0",
               "info file_taken accepted=1 already_there=0", "info file_taken accepted=1 already_there=1"}));
}

TEST_F(InboxTest, AnEmptyInboxHasNothingToTake) {
    const Inbox::Sweep swept = sweep();
    EXPECT_EQ(swept.taken, 0u);
    EXPECT_FALSE(swept.look_again);
}

TEST_F(InboxTest, FileThatCannotBeReadGoesToRefusedBesideItsReason) {
    const std::string text = "{\"type\": \"weight\",\n oops}";
    drop("today.json", text);
    EXPECT_EQ(sweep().taken, 1u);
    EXPECT_EQ(files(), (Names{"refused/today.json", "refused/today.json.reason.txt"}));
    EXPECT_EQ(test::read_file(place("refused/today.json")), text);
    const entry::Problem failure = hub_.hand_in(text, entry::Format::json).failure.value();
    EXPECT_EQ(failure.where, "line 2, column 2");
    EXPECT_EQ(reason("today.json"), nothing_recorded("today.json", failure.where + ": " + failure.what));
    drop("empty.csv", "");
    sweep();
    EXPECT_EQ(reason("empty.csv"), nothing_recorded("empty.csv", hub_.hand_in("").failure.value().what));
}

TEST_F(InboxTest, ReasonListsEveryProblemOfEveryEntryThatIsNotInTheLogbook) {
    Answers answers;
    answers.answers.resize(4);
    answers.answers[0] = {Answer::Kind::accepted, "line 2", hub_.id("w1"), 1, true, false, {}};
    answers.answers[1].where = "line 3";
    answers.answers[1].problems = {{"line 3, column by", "nobody"}, {"", "half a row"}};
    answers.answers[2] = {Answer::Kind::conflict,   "line 4", hub_.id("w3"), 0, true, false,
                          {{"line 4", "says else"}}};
    answers.answers[3] = {Answer::Kind::already_there, "line 5", hub_.id("w1"), 1, true, false, {}};
    EXPECT_EQ(
        reason_text("week.csv", answers),
        "'week.csv'\n\n2 of 4 entries in this file are in the logbook; 2 entries are not:\n\n"
        "  line 3, column by: nobody\n  line 3: half a row\n  line 4: says else\n"
        "\nCorrect these and put the file into the inbox again; what is in the logbook is recognised and "
        "stays as it is.\n");
}

TEST_F(InboxTest, MixedFileIsTakenEntryByEntryAndItsReasonSaysSo) {
    hub_.hand_in(weight("w3", "18.6"));
    const std::string text = weight_rows(
        {"w1,weight,juniper,2026-10-12T08:00,marlow,18.4", "w2,weight,juniper,2026-10-12T08:00,marlo,600",
         "w3,weight,juniper,2026-10-12T08:00,marlow,18.5", "w3,weight,juniper,2026-10-12T08:00,marlow,18.6"});
    drop("week.csv", text);
    sweep();
    EXPECT_EQ(hub_.entries(), 2u);
    EXPECT_EQ(files(), (Names{"refused/week.csv", "refused/week.csv.reason.txt"}));
    EXPECT_EQ(test::read_file(place("refused/week.csv")), text);
    EXPECT_EQ(reason("week.csv"), reason_text("week.csv", hub_.hand_in(text, entry::Format::csv)));
    EXPECT_EQ(hub_.log.lines,
              Names{"warning file_taken_in_part accepted=1 already_there=1 conflicts=1 refused=1"});
}

TEST_F(InboxTest, CorrectedFileIsTakenWithWhatWasGoodBefore) {
    drop("week.ndjson", weight("w1") + weight("w2", "1840"));
    sweep();
    drop("week.ndjson", weight("w1") + weight("w2", "18.40"));
    sweep();
    EXPECT_EQ(files(), (Names{"done/week.ndjson", "refused/week.ndjson", "refused/week.ndjson.reason.txt"}));
    EXPECT_EQ(hub_.entries(), 2u);
}

TEST_F(InboxTest, TheSameNameOnceMoreGetsANumberBeforeItsEnding) {
    for (const char* id : {"w1", "w2", "w3"}) {
        drop("today.ndjson", weight(id));
        drop("bad.tar.json", "{");
        sweep();
    }
    EXPECT_EQ(files(), (Names{"done/today-2.ndjson", "done/today-3.ndjson", "done/today.ndjson",
                              "refused/bad.tar-2.json", "refused/bad.tar-2.json.reason.txt",
                              "refused/bad.tar-3.json", "refused/bad.tar-3.json.reason.txt",
                              "refused/bad.tar.json", "refused/bad.tar.json.reason.txt"}));
}

TEST_F(InboxTest, UnfinishedNamesAreLeftAloneUntilRenamed) {
    const Names names{"a.csv.tmp",     "a.csv.part", "a.csv.partial", "a.csv.crdownload", ".a.csv",
                      ".~lock.a.csv#", "~$a.csv",    "a.csv~",        ".a.csv.swp",       "a.csv.swp"};
    for (const std::string& name : names)
        drop(name, weight_rows({"w1,weight,juniper,2026-10-12T08:00,marlow,18.4"}));
    EXPECT_EQ(sweep({names.begin(), names.end()}).taken, 0u);
    EXPECT_EQ(files().size(), names.size());
    std::filesystem::rename(place("a.csv.part"), place("a.csv"));
    EXPECT_EQ(sweep().taken, 1u);
    EXPECT_THAT(files(), testing::Contains("done/a.csv"));
}

TEST_F(InboxTest, FileOpenForWritingIsTakenOnlyAfterItWasClosed) {
    drop("slow.ndjson", weight("w1"));
    const int writer = ::open(place("slow.ndjson").c_str(), O_WRONLY | O_APPEND);
    ASSERT_GE(writer, 0);
    const Inbox::Sweep early = sweep({"slow.ndjson"});
    EXPECT_EQ(early.taken, 0u);
    EXPECT_EQ(early.look_again, std::chrono::seconds{1});
    const std::string rest = weight("w2");
    EXPECT_EQ(::write(writer, rest.data(), rest.size()), static_cast<ssize_t>(rest.size()));
    ::close(writer);
    EXPECT_EQ(sweep({"slow.ndjson"}).taken, 1u);
    EXPECT_EQ(hub_.entries(), 2u);
}

TEST_F(InboxTest, FileChangedInTheLastTwoSecondsIsLeftAlone) {
    drop("a.ndjson", weight("w1"), std::chrono::seconds(2));
    drop("b.ndjson", weight("w2"), std::chrono::milliseconds(1999));
    const Inbox::Sweep early = sweep();
    EXPECT_EQ(early.taken, 1u);
    EXPECT_TRUE(early.look_again);
    EXPECT_EQ(files(), (Names{"b.ndjson", "done/a.ndjson"}));
    hub_.clock.move(std::chrono::milliseconds(1));
    EXPECT_EQ(sweep().taken, 1u);
}

TEST_F(InboxTest, FileKnownToBeClosedIsTakenAtOnce) {
    drop("a.ndjson", weight("w1"), std::chrono::seconds(0));
    const Inbox::Sweep swept = sweep({"a.ndjson", "gone.ndjson"});
    EXPECT_EQ(swept.taken, 1u);
    EXPECT_FALSE(swept.look_again);
}

TEST_F(InboxTest, FilesAreTakenInTheOrderOfTheirNames) {
    drop("2-correction.ndjson", amended("w1", "18.6", "2026-10-12T09:00"), std::chrono::hours(2));
    drop("3-retraction.ndjson", retracted("w1"), std::chrono::hours(3));
    drop("1-record.ndjson", weight("w1"), std::chrono::hours(1));
    sweep();
    EXPECT_EQ(files(),
              (Names{"done/1-record.ndjson", "done/2-correction.ndjson", "done/3-retraction.ndjson"}));
}

TEST_F(InboxTest, SymbolicLinkIsRefusedAndWhatItPointsToIsNotRead) {
    test::write_file(hub_.folder / "outside.ndjson", weight("w1"));
    std::filesystem::create_symlink(hub_.folder / "outside.ndjson", place("link.ndjson"));
    std::filesystem::create_directory_symlink(hub_.folder.path(), place("folder.ndjson"));
    EXPECT_EQ(sweep().taken, 2u);
    EXPECT_EQ(files(), (Names{"refused/folder.ndjson", "refused/folder.ndjson.reason.txt",
                              "refused/link.ndjson", "refused/link.ndjson.reason.txt"}));
    EXPECT_EQ(reason("link.ndjson"),
              nothing_recorded("link.ndjson", "this is no plain file; links and devices are not followed"));
    EXPECT_EQ(hub_.entries(), 0u);
}

TEST_F(InboxTest, NamedPipeIsRefusedWithoutWaitingForAWriter) {
    ASSERT_EQ(::mkfifo(place("pipe.ndjson").c_str(), 0600), 0);
    EXPECT_EQ(sweep().taken, 1u);
    EXPECT_EQ(files(), (Names{"refused/pipe.ndjson", "refused/pipe.ndjson.reason.txt"}));
}

TEST_F(InboxTest, FoldersAreLeftAlone) {
    std::filesystem::create_directory(place("older.csv"));
    test::write_file(place("older.csv") / "a.ndjson", weight("w1"));
    const Inbox::Sweep swept = sweep();
    EXPECT_EQ(swept.taken, 0u);
    EXPECT_FALSE(swept.look_again);
    EXPECT_EQ(files(), Names{"older.csv/a.ndjson"});
}

TEST_F(InboxTest, UnknownEndingIsRefused) {
    drop("week.xlsx", "PK");
    drop("README", weight("w1"));
    EXPECT_EQ(sweep().taken, 2u);
    const std::string why =
        "the ending of this file's name is not known; expected .json, .ndjson, .jsonl or .csv (a "
        "spreadsheet is saved as 'CSV UTF-8')";
    EXPECT_EQ(reason("week.xlsx"), nothing_recorded("week.xlsx", why));
    EXPECT_EQ(reason("README"), nothing_recorded("README", why));
    EXPECT_EQ(hub_.log.lines, (Names{"warning file_refused", "warning file_refused"}));
}

TEST_F(InboxTest, FileThatMayNotBeReadIsRefused) {
    drop("private.ndjson", weight("w1"));
    ASSERT_EQ(::chmod(place("private.ndjson").c_str(), 0), 0);
    for (const auto& folder : {hub_.folder.path(), place("."), place("refused")})
        ASSERT_EQ(::chmod(folder.c_str(), 0777), 0);
    {
        const AsNobody somebody_else;
        EXPECT_EQ(sweep().taken, 1u);
    }
    const std::string why = "this file cannot be read; the hub's user needs the right to read it";
    EXPECT_EQ(reason("private.ndjson"), nothing_recorded("private.ndjson", why));
}

TEST_F(InboxTest, FileOfFiveMebibytesIsRefused) {
    drop("large.csv", std::string(5 * 1024 * 1024, 'x'));
    drop("full.ndjson", weight("w1") + std::string(4 * 1024 * 1024 - weight("w1").size(), '\n'));
    EXPECT_EQ(sweep().taken, 2u);
    EXPECT_EQ(files(), (Names{"done/full.ndjson", "refused/large.csv", "refused/large.csv.reason.txt"}));
    const std::string why = "this file is larger than 4 MiB; hand it in in smaller pieces";
    EXPECT_EQ(reason("large.csv"), nothing_recorded("large.csv", why));
}

TEST_F(InboxTest, NamesNeedNotBeTextOnOneLine) {
    const std::string two_lines = "to\nday.ndjson";
    const std::string latin1 = "f\xFCr.ndjson";  // No UTF-8.
    drop(two_lines, weight("w1"));
    drop(latin1, weight("w2"));
    drop("bad-" + two_lines, "{");
    drop("bad-" + latin1, "{");
    EXPECT_EQ(sweep().taken, 4u);
    EXPECT_EQ(files(), (Names{"done/" + latin1, "done/" + two_lines, "refused/bad-" + latin1,
                              "refused/bad-" + latin1 + ".reason.txt", "refused/bad-" + two_lines,
                              "refused/bad-" + two_lines + ".reason.txt"}));
    EXPECT_EQ(hub_.entries(), 2u);
}

TEST_F(InboxTest, FileReadAgainAfterACrashBeforeTheMoveChangesNothing) {
    drop("a.ndjson", weight("w1") + amended("w1", "18.6", "2026-10-12T09:00"));
    sweep();
    std::filesystem::rename(place("done/a.ndjson"), place("a.ndjson"));
    hub_.log.lines.clear();
    EXPECT_EQ(sweep().taken, 1u);
    EXPECT_EQ(files(), Names{"done/a.ndjson"});
    EXPECT_EQ(hub_.log.lines, Names{"info file_taken accepted=0 already_there=2"});
}

TEST_F(InboxTest, AnAmendmentDoesNotOvertakeARecordThatIsStillBeingWritten) {
    drop("1.ndjson", weight("w1"), std::chrono::seconds(1));
    drop("2.ndjson", amended("w1", "18.6", "2026-10-12T09:00"));
    EXPECT_TRUE(sweep().look_again);
    EXPECT_EQ(files(), (Names{"1.ndjson", "2.ndjson"}));
    age("1.ndjson", std::chrono::seconds(3));
    EXPECT_EQ(sweep().taken, 2u);
    EXPECT_EQ(files(), (Names{"done/1.ndjson", "done/2.ndjson"}));
}

TEST_F(InboxTest, AFileThatIsHeldOpenForLongDoesNotHoldUpTheOthers) {
    drop("1.ndjson", weight("w1"));
    const std::ofstream writer(place("1.ndjson"), std::ios::app);
    age("1.ndjson", std::chrono::minutes(5));
    drop("2.ndjson", weight("w2"));
    EXPECT_EQ(sweep().taken, 1u);
    EXPECT_EQ(files(), (Names{"1.ndjson", "done/2.ndjson"}));
}

TEST_F(InboxTest, AFileFromTheFutureIsTaken) {
    drop("a.ndjson", weight("w1"), -std::chrono::hours(48));
    EXPECT_EQ(sweep().taken, 1u);
}

TEST_F(InboxTest, TheLongestNameIsPutAwayTwiceWithItsReason) {
    const std::string name = std::string(255 - 5, 'n') + ".json";
    for (int i = 0; i < 2; ++i) {
        drop(name, "{");
        EXPECT_EQ(sweep().taken, 1u);
    }
    EXPECT_EQ(files().size(), 4u);
}

TEST_F(InboxTest, AFileIsNotRefusedWithoutItsReason) {
    drop("bad.json", "{");
    std::filesystem::create_directory(place("refused/bad.json.reason.txt"));
    EXPECT_EQ(sweep().taken, 0u);
    EXPECT_EQ(files(), Names{"bad.json"});
}

TEST_F(InboxTest, AFileThatCannotBePutAwayIsHandedInAndToldOfOnce) {
    drop("bad.ndjson", weight("w1") + "{}\n");
    std::filesystem::create_directory(place("refused/bad.ndjson.reason.txt"));
    for (int beat = 0; beat < 3; ++beat)
        EXPECT_EQ(sweep().taken, 0u);
    const auto told = "warning file_taken_in_part accepted=1 already_there=0 conflicts=0 refused=1";
    const auto stays = "error reason_cannot_be_written";
    EXPECT_EQ(hub_.log.lines, (Names{told, stays, stays, stays})) << "that it stays is told each time";
    const std::map<std::string, std::int64_t> counted{{"accepted", 1}, {"refused", 1}};
    EXPECT_EQ(hub_.desk.tallies().at("inbox"), counted);

    drop("bad.ndjson", weight("w1") + weight("w2") + "{}\n");
    EXPECT_EQ(sweep().taken, 0u);
    EXPECT_EQ(hub_.desk.tallies().at("inbox").at("accepted"), 2) << "it is another file now";
    std::filesystem::remove(place("refused/bad.ndjson.reason.txt"));
    EXPECT_EQ(sweep().taken, 1u);
    EXPECT_EQ(files(), (Names{"refused/bad.ndjson", "refused/bad.ndjson.reason.txt"}));
    EXPECT_THAT(reason("bad.ndjson"), testing::HasSubstr("2 of 3 entries"));
    EXPECT_EQ(hub_.desk.tallies().at("inbox").at("refused"), 2);
}

TEST_F(InboxTest, AFolderThatWentAwayIsMadeAgain) {
    std::filesystem::remove_all(place("done"));
    drop("a.ndjson", weight("w1"));
    EXPECT_EQ(sweep().taken, 1u);
    EXPECT_EQ(files(), Names{"done/a.ndjson"});
}

TEST_F(InboxTest, WhatWasRetractedSinceIsSaidBesideTheFile) {
    drop("a.ndjson", weight("w1"));
    drop("b.ndjson",
         R"({"action":"retract","id":"w1","recorded":"2026-10-12T09:00","recorded_by":"marlow"})");
    EXPECT_EQ(sweep().taken, 2u);
    drop("c.ndjson", weight("w1"));
    EXPECT_EQ(sweep().taken, 1u);
    EXPECT_THAT(test::read_file(place("done/c.ndjson.note.txt")), testing::HasSubstr("retracted since"));
}

TEST_F(InboxTest, TheGroupMayDropFilesAndReadWhatBecameOfThem) {
    using std::filesystem::perms;
    const auto rights = [](const std::filesystem::path& folder) {
        return std::filesystem::status(folder).permissions() & perms::all;
    };
    EXPECT_EQ(rights(inbox_.folder()), perms::owner_all | perms::group_all);
    EXPECT_EQ(rights(place("done")), perms::owner_all | perms::group_read | perms::group_exec);
}

// The kernel sends SIGIO to whoever holds a lease when another process opens the file for writing.
TEST_F(InboxTest, SigioDoesNotEndTheProcess) {
    EXPECT_EQ(std::signal(SIGIO, SIG_IGN), SIG_IGN);
    EXPECT_EQ(::raise(SIGIO), 0);
}

TEST_F(InboxTest, OnAFullDiskFilesStayUntilThereIsRoom) {
    drop("a.ndjson", weight("w1", "18.4", R"("note":")" + std::string(2000, 'n') + '"') + weight("w2"));
    hub_.fill_disk();
    const Inbox::Sweep swept = sweep();
    EXPECT_EQ(swept.taken, 0u);
    EXPECT_EQ(swept.look_again, std::chrono::minutes{1}) << "nobody makes room within a second";
    EXPECT_TRUE(swept.waits_for_room);
    EXPECT_EQ(files(), Names{"a.ndjson"});
    EXPECT_EQ(hub_.log.lines, Names{"error disk_full what=inbox"});
    hub_.make_room();
    EXPECT_EQ(sweep().taken, 1u);
    EXPECT_FALSE(sweep().waits_for_room);
}

TEST_F(InboxTest, AMissingInboxIsLookedForOnceAMinute) {
    std::filesystem::rename(inbox_.folder(), hub_.folder / "away");
    EXPECT_EQ(sweep().look_again, std::chrono::minutes{1});
    std::filesystem::rename(hub_.folder / "away", inbox_.folder());
    EXPECT_FALSE(sweep().look_again);
}

TEST_F(InboxTest, AFailingLogbookEndsTheSweepAndTheFileStays) {
    ASSERT_TRUE(hub_.db->run("DROP TABLE receipts; DROP TABLE deliveries"));
    drop("a.ndjson", weight("w1"));
    const auto swept = inbox_.sweep({});
    ASSERT_FALSE(swept);
    EXPECT_EQ(swept.error().code, Errc::storage);
    EXPECT_EQ(files(), Names{"a.ndjson"});
}

TEST_F(InboxTest, OpensOnlyWhereItsFoldersCanBeMade) {
    test::write_file(hub_.folder / "taken", "");
    const auto refused = Inbox::open(hub_.folder / "taken", hub_.desk, hub_.clock, hub_.log);
    ASSERT_FALSE(refused);
    EXPECT_EQ(refused.error().code, Errc::setup);
    EXPECT_THAT(refused.error().detail,
                testing::HasSubstr((hub_.folder / "taken").string() + " cannot be made: "));
}

TEST_F(InboxTest, WatchTakesWhatLiesThereAndWhatIsClosedOrMovedIn) {
    drop("a.ndjson", weight("w1"));
    boost::asio::io_context loop;
    auto watch = InboxWatch::make(loop, inbox_, [](const Error& error) { ADD_FAILURE() << error.detail; });
    ASSERT_TRUE(watch);
    (*watch)->look();
    EXPECT_EQ(files(), Names{"done/a.ndjson"});
    test::write_file(place("b.ndjson"), weight("w2"));
    test::write_file(place("c.part"), weight("w3"));
    std::filesystem::rename(place("c.part"), place("c.ndjson"));
    const Names all{"done/a.ndjson", "done/b.ndjson", "done/c.ndjson"};
    constexpr std::chrono::seconds far_too_long{30};
    while (files() != all && loop.run_one_for(far_too_long) > 0) {
    }
    EXPECT_EQ(files(), all);
}

TEST_F(InboxTest, WatchPassesOnThatTheLogbookFailed) {
    ASSERT_TRUE(hub_.db->run("DROP TABLE receipts; DROP TABLE deliveries"));
    drop("a.ndjson", weight("w1"));
    boost::asio::io_context loop;
    std::vector<Errc> failures;
    auto watch = InboxWatch::make(loop, inbox_, [&](const Error& error) { failures.push_back(error.code); });
    ASSERT_TRUE(watch);
    (*watch)->look();
    EXPECT_EQ(failures, std::vector{Errc::storage});
}

TEST_F(InboxTest, WatchThatIsGoneSweepsNoMore) {
    boost::asio::io_context loop;
    auto watch = InboxWatch::make(loop, inbox_, [](const Error& error) { ADD_FAILURE() << error.detail; });
    ASSERT_TRUE(watch);
    drop("a.ndjson", weight("w1"));
    // Its message is there, and so is the handler that reads it.
    loop.run_one_for(std::chrono::seconds{30});
    drop("b.ndjson", weight("w2"));
    watch->reset();
    loop.run_for(std::chrono::seconds{2});
    EXPECT_EQ(files(), (Names{"b.ndjson", "done/a.ndjson"}));
}

TEST_F(InboxTest, ManyFilesAreTakenInTurnsWithOthers) {
    for (int number = 0; number < 100; ++number)
        drop("f" + std::to_string(number) + ".ndjson", weight("w" + std::to_string(number)));
    std::size_t taken = 0;
    int turns = 0;
    for (bool more = true; more; ++turns) {
        const auto swept = inbox_.sweep({});
        ASSERT_TRUE(swept);
        taken += swept->taken;
        more = swept->has_more;
        EXPECT_EQ(swept->look_again.has_value(), more);
    }
    EXPECT_EQ(taken, 100u);
    EXPECT_EQ(turns, 4);
}

TEST_F(InboxTest, FolderThatThisUserMayNotWriteInIsRefusedAtOnce) {
    if (::geteuid() == 0)
        GTEST_SKIP() << "root may write everywhere; peers/refused-starts tries it as another user";
    std::filesystem::permissions(inbox_.folder(), std::filesystem::perms::owner_read);
    const auto refused = Inbox::open(inbox_.folder(), hub_.desk, hub_.clock, hub_.log);
    std::filesystem::permissions(inbox_.folder(), std::filesystem::perms::owner_all);
    ASSERT_FALSE(refused);
    EXPECT_EQ(refused.error().code, Errc::setup);
    EXPECT_THAT(refused.error().detail, testing::HasSubstr("cannot be used: Permission denied"));
}

TEST_F(InboxTest, AFolderThatIsGoneCannotBeWatched) {
    std::filesystem::remove_all(inbox_.folder());
    boost::asio::io_context loop;
    const auto watch = InboxWatch::make(loop, inbox_, [](const Error&) {});
    ASSERT_FALSE(watch);
    EXPECT_EQ(watch.error().code, Errc::setup);
    EXPECT_THAT(watch.error().detail,
                testing::StartsWith("the inbox " + inbox_.folder().string() + " cannot be watched: "));
}

}  // namespace

}  // namespace nightferry::intake
