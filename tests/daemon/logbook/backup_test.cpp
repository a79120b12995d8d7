// Copies of the logbook: made, checked, and put back in its place.
#include <sys/stat.h>

#include "daemon/logbook/checkup.hpp"
#include "daemon/logbook/restoring.hpp"
#include "daemon/logbook/schema.hpp"
#include "daemon/logbook/snapshot.hpp"
#include "tests/daemon/logbook/open_logbook.hpp"

namespace nightferry::logbook {

namespace {

using namespace test;
using testing::HasSubstr;

// Later than test_now(), at which everything in these tests is recorded and copied.
const Instant later = test_now() + std::chrono::hours{24};

void back_up(OpenLogbook& log, const std::filesystem::path& into) {
    const auto copy = Snapshot::take(log.db(), log.file(), test_now(), system_files());
    ASSERT_TRUE(copy.has_value()) << copy.error().detail;
    std::string bytes;
    // In parts, as it is fetched.
    while (bytes.size() < copy->bytes())
        bytes += copy->read(bytes.size(), 5000).value();
    EXPECT_EQ(copy->read(copy->bytes(), 5000).value(), "");
    write_file(into, bytes);
}

std::vector<std::string> names_beside(const std::filesystem::path& file) {
    std::vector<std::string> names;
    for (const auto& item : std::filesystem::directory_iterator(file.parent_path()))
        names.push_back(item.path().filename().string());
    std::sort(names.begin(), names.end());
    return names;
}

TEST(SnapshotTest, HoldsEverythingAndLeavesNothingBesideTheLogbook) {
    OpenLogbook log;
    TemporaryFolder folder;
    log.accept(a_weight("w1"));
    log.accept(amended(a_weight("w1", "18.6"), "2026-10-12T09:00"));
    log.accept(a_dose("d1"));
    log.take(1);
    log.settle(confirmed("w1", 2));
    const auto before = names_beside(log.file());
    back_up(log, folder / "backup");
    EXPECT_EQ(names_beside(log.file()), before);
    const Checkup found = check_up(folder / "backup").value();
    EXPECT_THAT(found.faults, testing::IsEmpty());
    EXPECT_EQ(found.entries, 2);
    EXPECT_EQ(found.revisions, 3);
    EXPECT_EQ(found.receipts, 1);
    EXPECT_EQ(found.audit_rows, check_up(log.db()).value().audit_rows);
    EXPECT_THAT(names_beside(folder / "backup"), testing::ElementsAre("backup"));
    // The logbook goes on.
    EXPECT_EQ(log.accept(a_weight("w2")).kind, Verdict::Kind::add);
    EXPECT_EQ(check_up(folder / "backup").value().entries, 2);
}

// What an interrupted write to a file leaves beside it: SQLite plays it into whatever file has that name.
std::string hot_journal(const std::filesystem::path& of) {
    sqlite3* db = nullptr;
    EXPECT_EQ(sqlite3_open(of.c_str(), &db), SQLITE_OK);
    EXPECT_EQ(sqlite3_exec(db,
                           "PRAGMA journal_mode=DELETE; PRAGMA cache_size=1; BEGIN; "
                           "UPDATE revisions SET body = body || hex(zeroblob(9000))",
                           nullptr, nullptr, nullptr),
              SQLITE_OK);
    const std::string journal = read_file(of.string() + "-journal");
    EXPECT_EQ(sqlite3_exec(db, "ROLLBACK", nullptr, nullptr, nullptr), SQLITE_OK);
    EXPECT_EQ(sqlite3_close(db), SQLITE_OK);
    EXPECT_GT(journal.size(), 8000U);
    return journal;
}

// A small backup with one entry beside one with many, and the journal of an interrupted write to the latter.
std::string journal_of_another(const TemporaryFolder& folder) {
    OpenLogbook other;
    for (int i = 0; i < 60; ++i)
        other.accept(a_weight("other" + std::to_string(i)));
    back_up(other, folder / "other");
    std::string journal = hot_journal(folder / "other");
    std::filesystem::remove(folder / "other");
    return journal;
}

TEST(SnapshotTest, AJournalOfOneThatWasCutShortIsNotPlayedIntoTheNext) {
    OpenLogbook log;
    TemporaryFolder folder;
    log.accept(a_weight("w1"));
    const std::string journal = journal_of_another(folder);
    for (const char* ending : {".copied", ".copied.unmarked", ".copied.copying", ".copying"})
        write_file(log.file().string() + ending + "-journal", journal);
    back_up(log, folder / "backup");
    const Checkup found = check_up(folder / "backup").value();
    EXPECT_THAT(found.faults, testing::IsEmpty());
    EXPECT_EQ(found.entries, 1);
    EXPECT_EQ(raw_sql(folder / "backup", "SELECT count(*) FROM pins WHERE name = 'copied_us'"), "1");
}

TEST(CheckupTest, EveryKindOfDamageIsFound) {
    struct Damage {
        const char* sql;
        const char* words;
    };
    for (const Damage& damage : {
             Damage{"UPDATE revisions SET body = '{}' WHERE revision = 2", "revision 2 of the entry"},
             Damage{"DELETE FROM revisions WHERE revision = 2",
                    "another revision is in effect than is noted"},
             Damage{"DELETE FROM revisions WHERE revision = 2", "wants a revision that is not there"},
             Damage{"UPDATE entries SET retracted = 1", "another revision is in effect than is noted"},
             Damage{"UPDATE entries SET person = 'rowan'", "is of another entry or person"},
             Damage{"UPDATE delivery_counts SET number = number + 1", "deliveries are counted as"},
             Damage{"DROP TRIGGER audit_is_not_changed; UPDATE audit SET detail = 'x' WHERE number = 2",
                    "the chain of the audit trail is broken: row 2"},
             Damage{"DROP TRIGGER audit_is_not_deleted; DELETE FROM audit WHERE number = 1",
                    "the chain of the audit trail is broken: row 2 follows row 0"},
             Damage{"PRAGMA foreign_keys=OFF; DELETE FROM entries", "belongs to something in entries"},
             Damage{"INSERT INTO receipts VALUES ('north', 'x', 1, 'Observation', 'o1', '1', 201, 5, 9, 8)",
                    "belongs to no delivery"},
         }) {
        OpenLogbook log;
        log.accept(a_weight("w1"));
        log.accept(amended(a_weight("w1", "18.6"), "2026-10-12T09:00"));
        EXPECT_THAT(check_up(log.db()).value().faults, testing::IsEmpty());
        log.close();
        raw_sql(log.file(), damage.sql);
        log.open();
        EXPECT_THAT(check_up(log.db()).value().faults, testing::Contains(HasSubstr(damage.words)))
            << damage.sql;
    }
}

TEST(CheckupTest, EveryDamagedPageOfABackupIsFoundOrHarmless) {
    OpenLogbook log;
    TemporaryFolder folder;
    std::vector<Arrival> arrivals;
    for (int i = 0; i < 60; ++i)
        arrivals.push_back(arrival(a_weight("w" + std::to_string(i))));
    log.accept(arrivals);
    back_up(log, folder / "backup");
    const std::string whole = read_file(folder / "backup");
    for (std::size_t page = 0; page * 4096 < whole.size(); ++page) {
        std::string bytes = whole;
        for (std::size_t i = page * 4096; i < (page + 1) * 4096; ++i)
            bytes[i] = static_cast<char>(~bytes[i]);
        write_file(folder / "backup", bytes);
        const auto found = check_up(folder / "backup");
        EXPECT_TRUE(!found || !found->is_sound()) << "page " << page + 1;
    }
    write_file(folder / "backup", whole.substr(0, whole.size() / 2 / 4096 * 4096));
    const auto cut = check_up(folder / "backup");
    EXPECT_TRUE(!cut || !cut->is_sound());
}

TEST(CheckupTest, WhatIsNoBackupIsToldApart) {
    TemporaryFolder folder;
    EXPECT_EQ(check_up(folder / "nowhere").error().code, Errc::not_found);
    EXPECT_THAT(names_beside(folder / "nowhere"), testing::IsEmpty());
    write_file(folder / "text", std::string(9000, 'x'));
    EXPECT_EQ(check_up(folder / "text").error().code, Errc::corrupt);
    write_file(folder / "empty", "");
    EXPECT_EQ(check_up(folder / "empty").error().code, Errc::corrupt);
    OpenLogbook log;
    log.accept(a_weight("w1"));
    back_up(log, folder / "newer");
    raw_sql(folder / "newer", "PRAGMA user_version = " + std::to_string(schema_version() + 1));
    EXPECT_THAT(check_up(folder / "newer").error().detail, HasSubstr("written by a newer nightferryd"));
    // A logbook in use was copied without its other half.
    EXPECT_THAT(check_up(log.file()).error().detail, HasSubstr("a part of it lies in logbook.sqlite-wal"));
}

TEST(RestoreTest, WhatMayHaveBeenSentSinceIsInDoubtAndTheAuditTrailSaysSo) {
    OpenLogbook log;
    TemporaryFolder folder;
    for (const char* label : {"there", "waits", "aside", "under_way"})
        log.accept(a_weight(label));
    for (const Parcel& parcel : log.take(1))
        EXPECT_EQ(parcel.id, id_of("there"));
    log.settle(confirmed("there"));
    log.settle(refused("aside"));
    back_up(log, folder / "backup");
    log.close();
    const std::filesystem::path file = file_in(folder.path());
    const auto restored = restore(folder / "backup", file, false, later);
    ASSERT_TRUE(restored.has_value()) << restored.error().detail;
    EXPECT_FALSE(restored->aside.has_value());
    EXPECT_EQ(restored->checkup.entries, 4);
    const auto db = open(file, later);
    ASSERT_TRUE(db.has_value()) << db.error().detail;
    Outbox outbox(**db);
    EXPECT_EQ(outbox.counts("north").value().confirmed, 1);
    EXPECT_EQ(outbox.release("north", std::nullopt, later).value(), 1);
    const auto parcels = outbox.take("north", {.limit = 10}, later).value();
    ASSERT_THAT(parcels, testing::SizeIs(3));
    for (const Parcel& parcel : parcels)
        EXPECT_TRUE(parcel.outcome_unknown);
    const auto rows = AuditTrail(**db).rows(0, 100).value();
    const auto told = std::ranges::find(rows, "restored", &AuditRow::event);
    ASSERT_NE(told, rows.end());
    EXPECT_EQ(told->detail, "copy of 2026-11-02T12:00:00Z");
    EXPECT_THAT(check_up(**db).value().faults, testing::IsEmpty());
}

TEST(RestoreTest, WhatIsHandedInAgainMayBeThereUnlessItHappenedAfterwards) {
    OpenLogbook log;
    TemporaryFolder folder;
    back_up(log, folder / "backup");
    log.close();
    const std::filesystem::path file = file_in(folder.path());
    const Instant noon = instant("2026-10-12T12:00Z");
    ASSERT_TRUE(restore(folder / "backup", file, false, noon));
    for (int start = 0; start < 2; ++start) {
        const auto db = open(file, noon);
        ASSERT_TRUE(db.has_value()) << db.error().detail;
        Logbook book(**db);
        const std::string n = std::to_string(start);
        ASSERT_TRUE(book.accept(std::vector{arrival(a_weight("before" + n, "18.4", "2026-10-12T08:00")),
                                            arrival(a_weight("after" + n, "18.4", "2026-10-12T18:00"))},
                                test_now()));
        for (const Parcel& parcel : Outbox(**db).take("north", {.limit = 2}, test_now()).value())
            EXPECT_EQ(parcel.outcome_unknown, parcel.id == id_of("before" + n)) << start;
        // Restored once, not at every start.
        const auto rows = AuditTrail(**db).rows(0, 100).value();
        EXPECT_EQ(std::ranges::count(rows, "restored", &AuditRow::event), 1);
        ASSERT_TRUE(Outbox(**db).settle("north", std::vector{confirmed("before" + n), confirmed("after" + n)},
                                        {}, test_now()));
    }
}

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

TEST(RestoreTest, CutShortBeforeTheEndNoEmptyLogbookIsBegunAndAnotherTryWorks) {
    OpenLogbook log;
    TemporaryFolder folder;
    log.accept(a_weight("w1"));
    back_up(log, folder / "backup");
    const std::filesystem::path file = folder / "logbook.sqlite";
    write_file(file.string() + ".closed", "");
    write_file(file.string() + ".restoring", "half");
    write_file(file.string() + ".restoring.part", "half");
    EXPECT_THAT(open(file, later).error().detail, HasSubstr("no new one was begun in its place"));
    ASSERT_TRUE(restore(folder / "backup", file, false, later));
    const auto db = open(file, later);
    ASSERT_TRUE(db.has_value()) << db.error().detail;
    EXPECT_THAT(Logbook(**db).list({}).value().records, testing::SizeIs(1));
    EXPECT_THAT(names_beside(file), testing::Not(testing::Contains(HasSubstr("restoring"))));
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
