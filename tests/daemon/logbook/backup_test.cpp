// Copies of the logbook: made, and checked.
#include "daemon/logbook/checkup.hpp"
#include "daemon/logbook/schema.hpp"
#include "tests/daemon/logbook/backups.hpp"

namespace nightferry::logbook {

namespace {

using namespace test;
using testing::HasSubstr;

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
             Damage{"UPDATE closings SET reason = 'something else'",
                    "was settled with north is not what it was"},
             Damage{"UPDATE closings SET closed_by = 'marlow'", "was settled with north is not what it was"},
         }) {
        OpenLogbook log;
        log.accept(a_weight("w1"));
        log.accept(amended(a_weight("w1", "18.6"), "2026-10-12T09:00"));
        log.take();
        log.settle(refused("w1", 2));
        ASSERT_TRUE(log.outbox().close("north", id_of("w1"), "tove", "phoned", test_now()).value());
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
    EXPECT_EQ(check_up(folder.path()).error().code, Errc::setup);
    EXPECT_EQ(check_up(folder.path()).error().detail,
              folder.path().string() + " cannot be read: Is a directory");
    OpenLogbook log;
    log.accept(a_weight("w1"));
    back_up(log, folder / "newer");
    raw_sql(folder / "newer", "PRAGMA user_version = " + std::to_string(schema_version() + 1));
    EXPECT_THAT(check_up(folder / "newer").error().detail, HasSubstr("written by a newer nightferryd"));
    EXPECT_THAT(check_up(folder / "newer").error().detail, testing::StartsWith((folder / "newer").string()));
    // A logbook in use was copied without its other half.
    EXPECT_THAT(check_up(log.file()).error().detail, HasSubstr("its newest part lies in logbook.sqlite-wal"));
}

}  // namespace

}  // namespace nightferry::logbook
