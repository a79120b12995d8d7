// A copy is put in the place of the logbook.
#include <sys/stat.h>

#include "tests/daemon/logbook/backups.hpp"

namespace nightferry::logbook {

namespace {

using namespace test;
using testing::HasSubstr;

TEST(RestoreTest, ALogbookThatIsThereIsRefusedOrMovedAsideWhole) {
    OpenLogbook log;
    TemporaryFolder folder;
    log.accept(a_weight("old"));
    back_up(log, folder / "backup");
    EXPECT_EQ(restore(folder / "backup", log.file(), true, later).error().code, Errc::locked);
    log.accept(a_weight("new"));
    log.close();
    const auto refused_one = restore(folder / "backup", log.file(), false, later);
    EXPECT_EQ(refused_one.error().code, Errc::setup);
    EXPECT_THAT(refused_one.error().detail, HasSubstr("--move-aside"));
    EXPECT_EQ(raw_sql(log.file(), "SELECT count(*) FROM entries"), "2");

    const auto restored = restore(folder / "backup", log.file(), true, later);
    ASSERT_TRUE(restored.has_value()) << restored.error().detail;
    EXPECT_EQ(restored->aside->filename(), "logbook.sqlite.aside-20261103T120000Z");
    EXPECT_EQ(raw_sql(*restored->aside, "SELECT count(*) FROM entries"), "2");
    log.open();
    EXPECT_THAT(log.book().list({}).value().records, testing::SizeIs(1));
}

TEST(RestoreTest, ALogbookThatWasNotClosedIsMovedWithItsWal) {
    OpenLogbook log;
    TemporaryFolder folder;
    log.accept(a_weight("old"));
    back_up(log, folder / "backup");
    log.accept(a_weight("new"));
    // As a crash leaves it: the newest is in the WAL only.
    const std::filesystem::path crashed = folder / "logbook.sqlite";
    for (const char* ending : {"", "-wal"})
        std::filesystem::copy_file(log.file().string() + ending, crashed.string() + ending);
    ASSERT_GT(std::filesystem::file_size(crashed.string() + "-wal"), 0U);
    const auto restored = restore(folder / "backup", crashed, true, later);
    ASSERT_TRUE(restored.has_value()) << restored.error().detail;
    EXPECT_FALSE(std::filesystem::exists(crashed.string() + "-wal"));
    EXPECT_EQ(raw_sql(crashed, "SELECT count(*) FROM entries"), "1");
    EXPECT_EQ(raw_sql(*restored->aside, "SELECT count(*) FROM entries"), "2");
}

TEST(RestoreTest, OfALogbookThatWasBeingWrittenAnewTheWholeOneIsTaken) {
    OpenLogbook log;
    TemporaryFolder folder;
    back_up(log, folder / "aside");
    log.accept(a_weight("w1"));
    back_up(log, folder / "aside.rewritten");
    const std::filesystem::path file = folder / "logbook.sqlite";
    EXPECT_THAT(restore(folder / "aside", file, false, later).error().detail,
                HasSubstr("restore " + (folder / "aside.rewritten").string() + " instead"));
    EXPECT_EQ(restore(folder / "aside.rewritten", file, false, later).value().checkup.entries, 1);
}

TEST(RestoreTest, WhatIsNotSoundIsRefusedAndChangesNothing) {
    OpenLogbook log;
    TemporaryFolder folder;
    log.accept(a_weight("w1"));
    back_up(log, folder / "backup");
    raw_sql(folder / "backup", "UPDATE revisions SET body = '{}'");
    const std::filesystem::path file = folder / "logbook.sqlite";
    const auto refused_one = restore(folder / "backup", file, true, later);
    EXPECT_EQ(refused_one.error().code, Errc::corrupt);
    EXPECT_THAT(refused_one.error().detail, HasSubstr("is not sound: revision 1 of the entry"));
    EXPECT_THAT(names_beside(file), testing::ElementsAre("backup"));
}

TEST(RestoreTest, ALogbookThatWasMovedAsideAfterACrashIsPutBackWithItsWal) {
    OpenLogbook log;
    TemporaryFolder folder;
    log.accept(a_weight("old"));
    back_up(log, folder / "backup");
    log.accept(a_weight("new"));
    const std::filesystem::path crashed = folder / "logbook.sqlite";
    for (const char* ending : {"", "-wal"})
        std::filesystem::copy_file(log.file().string() + ending, crashed.string() + ending);
    const auto aside = restore(folder / "backup", crashed, true, later).value().aside;
    const std::string before = read_file(aside->string() + "-wal");
    ASSERT_GT(before.size(), 0U);
    const auto back = restore(*aside, crashed, true, later + std::chrono::hours{1});
    ASSERT_TRUE(back.has_value()) << back.error().detail;
    EXPECT_EQ(back->checkup.entries, 2);
    EXPECT_EQ(read_file(aside->string() + "-wal"), before);
    const auto db = open(crashed, later);
    ASSERT_TRUE(db.has_value()) << db.error().detail;
    EXPECT_THAT(Logbook(**db).list({}).value().records, testing::SizeIs(2));
    // Never one that a process writes meanwhile.
    EXPECT_EQ(restore(log.file(), folder / "other.sqlite", false, later).error().code, Errc::locked);
}

TEST(RestoreTest, ABackupOfAnEarlierVersionIsTakenOver) {
    TemporaryFolder folder;
    raw_sql(folder / "backup", source_file("tests/daemon/logbook/released/version_3.sql"));
    const std::filesystem::path file = folder / "logbook.sqlite";
    ASSERT_TRUE(restore(folder / "backup", file, false, later));
    const auto db = open(file, later);
    ASSERT_TRUE(db.has_value()) << db.error().detail;
    for (const Parcel& parcel : Outbox(**db).take("north", {.limit = 10}, later).value())
        EXPECT_TRUE(parcel.outcome_unknown);
    EXPECT_EQ(AuditTrail(**db).rows(0, 1).value().at(0).event, "restored");
}

TEST(RestoreTest, OnlyItsOwnerMayReadWhatWasRestored) {
    OpenLogbook log;
    TemporaryFolder folder;
    back_up(log, folder / "backup");
    const std::filesystem::path file = folder / "logbook.sqlite";
    ASSERT_TRUE(restore(folder / "backup", file, false, later));
    struct stat facts {};
    ASSERT_EQ(::stat(file.c_str(), &facts), 0);
    EXPECT_EQ(facts.st_mode & 07777, 0600U);
}

}  // namespace

}  // namespace nightferry::logbook
