// The simulated disk does to files what its header says, and real SQLite feels it.
#include "tests/sim/disk.hpp"

#include <gtest/gtest.h>

#include <cerrno>

namespace nightferry::sim {

namespace {

// A connection to a database on a disk; the code of the last call.
class Connection {
 public:
    explicit Connection(const Disk& disk, const std::string& synchronous = "FULL") {
        opened =
            sqlite3_open_v2("/home/test.db", &db_, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, disk.name());
        if (opened == SQLITE_OK)
            opened = run("PRAGMA locking_mode=EXCLUSIVE; PRAGMA journal_mode=WAL; PRAGMA synchronous=" +
                         synchronous);
    }
    Connection(const Connection&) = delete;
    Connection& operator=(const Connection&) = delete;
    ~Connection() { sqlite3_close(db_); }

    int run(const std::string& sql) {
        sqlite3_exec(db_, sql.c_str(), nullptr, nullptr, nullptr);
        return sqlite3_extended_errcode(db_);
    }
    std::string text(const std::string& sql) {
        sqlite3_stmt* query = nullptr;
        std::string found = "error";
        if (sqlite3_prepare_v2(db_, sql.c_str(), -1, &query, nullptr) == SQLITE_OK &&
            sqlite3_step(query) == SQLITE_ROW)
            found = reinterpret_cast<const char*>(sqlite3_column_text(query, 0));
        sqlite3_finalize(query);
        return found;
    }

    int opened = SQLITE_OK;

 private:
    sqlite3* db_ = nullptr;
};

const std::string insert = "INSERT INTO doses (words) VALUES (hex(zeroblob(600)))";
const std::string file = "/home/test.db";

// How many of these rows were acknowledged before the process ended.
int insert_rows(Connection& db, int count) {
    db.run("CREATE TABLE IF NOT EXISTS doses (number INTEGER PRIMARY KEY, words TEXT)");
    int acknowledged = 0;
    while (acknowledged < count && db.run(insert) == SQLITE_OK)
        ++acknowledged;
    return acknowledged;
}

int rows_in(Connection& db) {
    const std::string count = db.text("SELECT count(*) FROM doses");
    return count == "error" ? 0 : std::stoi(count);
}

// Inserts until the power goes out at some call, and returns how many acknowledged rows are missing then.
int lost_by_a_cut(std::uint64_t seed, const std::string& synchronous) {
    Disk disk(seed);
    Dice dice(seed + 1);
    Faults faults;
    faults.die_at = 60 + dice.below(400);
    disk.set_faults(faults);
    int acknowledged = 0;
    {
        Connection db(disk, synchronous);
        acknowledged = insert_rows(db, 150);
        disk.die();
    }
    disk.set_faults({});
    disk.cut_power(dice);
    Connection db(disk);
    EXPECT_EQ(db.opened, SQLITE_OK) << seed;
    EXPECT_EQ(db.text("PRAGMA integrity_check"), "ok") << seed;
    return acknowledged - std::min(acknowledged, rows_in(db));
}

TEST(DiskTest, DurableWritesLoseNothingWhereverThePowerIsCut) {
    for (std::uint64_t seed = 0; seed < 400; ++seed)
        EXPECT_EQ(lost_by_a_cut(seed, "FULL"), 0) << seed;
}

TEST(DiskTest, WritesThatAreNotSyncedAreLost) {
    int losses = 0;
    for (std::uint64_t seed = 0; seed < 200; ++seed)
        losses += lost_by_a_cut(seed, "NORMAL") > 0 ? 1 : 0;
    EXPECT_GT(losses, 50);
}

TEST(DiskTest, EqualSeedsGiveEqualBytes) {
    const auto bytes_of = [](std::uint64_t seed) {
        Disk disk(seed);
        disk.make_default();
        {
            Connection db(disk);
            insert_rows(db, 20);
            db.run("INSERT INTO doses (words) VALUES (hex(randomblob(50)) || datetime('now'))");
            disk.die();
        }
        Dice dice(seed);
        disk.cut_power(dice);
        return disk.bytes(file) + disk.bytes(file + "-wal");
    };
    EXPECT_EQ(bytes_of(7), bytes_of(7));
    EXPECT_NE(bytes_of(7), bytes_of(8));
}

TEST(DiskTest, DefaultLayerIsTheSystemsAgainAfterwards) {
    const sqlite3_vfs* const before = sqlite3_vfs_find(nullptr);
    {
        Disk disk(1);
        disk.make_default();
        EXPECT_STREQ(sqlite3_vfs_find(nullptr)->zName, disk.name());
    }
    EXPECT_EQ(sqlite3_vfs_find(nullptr), before);
}

TEST(DiskTest, KilledProcessLosesNothingThatItWrote) {
    Disk disk(1);
    {
        Connection db(disk, "OFF");
        EXPECT_EQ(insert_rows(db, 10), 10);
        disk.die();
    }
    EXPECT_TRUE(disk.is_dead());
    disk.kill();
    EXPECT_FALSE(disk.is_dead());
    Connection db(disk);
    EXPECT_EQ(rows_in(db), 10);
}

TEST(DiskTest, HandlesOfAKilledProcessAreOfNoEffect) {
    Disk disk(1);
    Connection old(disk);
    insert_rows(old, 3);
    disk.kill();
    Connection db(disk);
    EXPECT_EQ(db.opened, SQLITE_OK);
    const std::string before = disk.bytes(file);
    EXPECT_NE(old.run(insert), SQLITE_OK);
    EXPECT_EQ(disk.bytes(file), before);
    EXPECT_EQ(rows_in(db), 3);
}

TEST(DiskTest, WriteThatTheProcessDiesInHappensInPart) {
    std::set<std::size_t> lengths;
    for (std::uint64_t seed = 0; seed < 20; ++seed) {
        Disk disk(seed);
        Connection db(disk);
        insert_rows(db, 1);
        const std::size_t before = disk.bytes(file + "-wal").size();
        Faults faults;
        faults.die_at = 2;
        disk.set_faults(faults);
        EXPECT_NE(db.run(insert), SQLITE_OK);
        EXPECT_TRUE(disk.is_dead());
        lengths.insert(disk.bytes(file + "-wal").size() - before);
        EXPECT_NE(db.run("SELECT * FROM doses"), SQLITE_OK);
    }
    EXPECT_GT(lengths.size(), 5u);
}

TEST(DiskTest, OneOwnerOfALockAtATime) {
    Disk disk(1);
    Connection db(disk);
    insert_rows(db, 1);
    const Connection second(disk);
    EXPECT_EQ(second.opened & 0xFF, SQLITE_BUSY);
    EXPECT_TRUE(disk.hold("/home"));
    EXPECT_FALSE(disk.hold("/home"));
    disk.release("/home");
    EXPECT_TRUE(disk.hold("/home"));
    disk.kill();
    EXPECT_TRUE(disk.hold("/home"));
}

// Which SQLite error the n-th call of some kind brings about, if any.
std::vector<int> codes_of_failing(unsigned kinds) {
    std::vector<int> codes;
    for (std::uint64_t n = 1; n < 40; ++n) {
        Disk disk(n);
        Faults faults;
        faults.kinds = kinds;
        faults.fail_at = n;
        disk.set_faults(faults);
        Connection db(disk);
        codes.push_back(db.opened);
        for (const std::string& sql :
             {std::string("CREATE TABLE doses (number INTEGER PRIMARY KEY, words TEXT)"), insert,
              std::string("PRAGMA wal_checkpoint(TRUNCATE)")})
            codes.push_back(db.run(sql));
    }
    return codes;
}

TEST(DiskTest, EachKindOfCallFailsByItsName) {
    const auto contains = [](const std::vector<int>& codes, int code) {
        return std::find(codes.begin(), codes.end(), code) != codes.end();
    };
    EXPECT_TRUE(contains(codes_of_failing(opening), SQLITE_CANTOPEN));
    // SQLite mostly takes a disk that does not give a page for a damaged file.
    const auto unread = codes_of_failing(reading);
    EXPECT_TRUE(contains(unread, SQLITE_CORRUPT) || contains(unread, SQLITE_IOERR_CORRUPTFS));
    EXPECT_TRUE(contains(codes_of_failing(writing), SQLITE_IOERR_WRITE));
    EXPECT_TRUE(contains(codes_of_failing(syncing), SQLITE_IOERR_FSYNC));
    EXPECT_TRUE(contains(codes_of_failing(cutting), SQLITE_IOERR_TRUNCATE));
    EXPECT_TRUE(contains(codes_of_failing(removing), SQLITE_IOERR_DELETE));
}

TEST(DiskTest, CallsFailAsOftenAsAsked) {
    Disk disk(1);
    Faults faults;
    faults.per_mille = 250;
    disk.set_faults(faults);
    int failed = 0;
    for (int i = 0; i < 4000; ++i)
        failed += disk.sync_folder("/home") == EIO ? 1 : 0;
    EXPECT_NEAR(failed, 1000, 100);
}

TEST(DiskTest, FailedSyncIsForgottenAndItsDataAreLostWithThePower) {
    Disk disk(1);
    Connection db(disk);
    EXPECT_EQ(insert_rows(db, 5), 5);
    Faults faults;
    faults.kinds = syncing;
    faults.fail_at = 1;
    disk.set_faults(faults);
    EXPECT_EQ(db.run(insert), SQLITE_IOERR_FSYNC);
    const std::string visible = disk.bytes(file + "-wal");
    disk.kill();
    EXPECT_EQ(disk.sync(file + "-wal"), 0);
    EXPECT_EQ(disk.bytes(file + "-wal"), visible);
    EXPECT_LT(disk.durable_bytes(file + "-wal").size(), visible.size());
    const Disk::Snapshot as_it_was = disk.snapshot();
    {
        Connection next(disk);
        EXPECT_EQ(rows_in(next), 6);
        disk.die();
    }
    disk.restore(as_it_was);
    Dice dice(1);
    disk.cut_power(dice);
    Connection next(disk);
    EXPECT_EQ(rows_in(next), 5);
}

TEST(DiskTest, FullDiskTakesNothingMoreUntilThereIsRoom) {
    Disk disk(1);
    Connection db(disk);
    EXPECT_EQ(insert_rows(db, 5), 5);
    Faults faults;
    faults.capacity = 80'000;
    disk.set_faults(faults);
    const int more = insert_rows(db, 100);
    EXPECT_LT(more, 100);
    EXPECT_EQ(db.run(insert), SQLITE_FULL);
    EXPECT_LE(disk.bytes(file).size() + disk.bytes(file + "-wal").size(), 80'000u);
    disk.set_faults({});
    EXPECT_EQ(db.run(insert), SQLITE_OK);
    EXPECT_EQ(rows_in(db), 5 + more + 1);
}

TEST(DiskTest, ReadOnlyDiskIsReadButNotWritten) {
    Disk disk(1);
    Faults faults;
    faults.read_only = true;
    {
        Connection db(disk);
        insert_rows(db, 5);
        disk.set_faults(faults);
        EXPECT_EQ(db.run(insert), SQLITE_IOERR_WRITE);
        EXPECT_EQ(rows_in(db), 5);
    }
    disk.kill();
    sqlite3* raw = nullptr;
    EXPECT_EQ(sqlite3_open_v2(file.c_str(), &raw, SQLITE_OPEN_READWRITE, disk.name()), SQLITE_OK);
    EXPECT_EQ(sqlite3_db_readonly(raw, "main"), 1);
    sqlite3_close(raw);
    EXPECT_EQ(disk.rename(file, file + "2"), EROFS);
    EXPECT_EQ(disk.create("/home/new"), EROFS);
}

// Runs power cuts until each of two outcomes has been seen.
template <class Prepare, class Outcome>
std::set<Outcome> outcomes(Prepare prepare, Outcome (*outcome)(Disk&)) {
    std::set<Outcome> seen;
    for (std::uint64_t seed = 0; seed < 50; ++seed) {
        Disk disk(seed);
        prepare(disk);
        Dice dice(seed);
        disk.cut_power(dice);
        seen.insert(outcome(disk));
    }
    return seen;
}

std::string names_on(Disk& disk) {
    std::string names;
    for (const std::string& path : disk.files_in("/f"))
        names += path.substr(3) + disk.bytes(path) + " ";
    return names;
}

TEST(DiskTest, NewNameIsDurableWithItsFileOrItsFolder) {
    const auto made = [](Disk& disk) { disk.create("/f/a"); };
    EXPECT_EQ(outcomes(made, names_on), (std::set<std::string>{"", "a "}));
    const auto synced = [](Disk& disk) {
        disk.create("/f/a");
        disk.sync("/f/a");
    };
    EXPECT_EQ(outcomes(synced, names_on), std::set<std::string>{"a "});
    const auto folder_synced = [](Disk& disk) {
        disk.create("/f/a");
        disk.sync_folder("/f");
    };
    EXPECT_EQ(outcomes(folder_synced, names_on), std::set<std::string>{"a "});
}

TEST(DiskTest, RenamingIsWholeAndDurableWithItsFolderOnly) {
    const auto renamed = [](Disk& disk) {
        disk.put("/f/a", "1");
        disk.put("/f/b", "2");
        EXPECT_EQ(disk.rename("/f/a", "/f/b"), 0);
        disk.sync("/f/b");
    };
    EXPECT_EQ(outcomes(renamed, names_on), (std::set<std::string>{"a1 b2 ", "b1 "}));
    const auto synced = [&](Disk& disk) {
        renamed(disk);
        disk.sync_folder("/f");
    };
    EXPECT_EQ(outcomes(synced, names_on), std::set<std::string>{"b1 "});
}

TEST(DiskTest, RemovingIsDurableWithItsFolderAndNamesChangeIndependently) {
    const auto removed = [](Disk& disk) {
        disk.put("/f/a", "1");
        disk.put("/f/b", "2");
        EXPECT_EQ(disk.remove("/f/a"), 0);
        EXPECT_EQ(disk.remove("/f/b"), 0);
    };
    EXPECT_EQ(outcomes(removed, names_on), (std::set<std::string>{"", "a1 ", "b2 ", "a1 b2 "}));
    const auto made_anew = [](Disk& disk) {
        disk.put("/f/a", "1");
        disk.remove("/f/a");
        disk.create("/f/a");
        disk.sync("/f/a");
    };
    EXPECT_EQ(outcomes(made_anew, names_on), std::set<std::string>{"a "});
    Disk disk(1);
    EXPECT_EQ(disk.remove("/f/a"), ENOENT);
    EXPECT_EQ(disk.rename("/f/a", "/f/b"), ENOENT);
}

TEST(DiskTest, SectorsAreKeptOrLostEachForItself) {
    std::set<std::string> shapes;
    for (std::uint64_t seed = 0; seed < 200; ++seed) {
        Disk disk(seed);
        sqlite3_vfs* vfs = sqlite3_vfs_find(disk.name());
        std::vector<char> room(static_cast<std::size_t>(vfs->szOsFile));
        auto* open = reinterpret_cast<sqlite3_file*>(room.data());
        const int flags = SQLITE_OPEN_MAIN_DB | SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE;
        ASSERT_EQ(vfs->xOpen(vfs, "/f/a", open, flags, nullptr), SQLITE_OK);
        open->pMethods->xWrite(open, std::string(1536, 'o').data(), 1536, 0);
        open->pMethods->xSync(open, SQLITE_SYNC_NORMAL);
        open->pMethods->xWrite(open, std::string(1024, 'n').data(), 1024, 256);
        open->pMethods->xTruncate(open, 1280);
        Dice dice(seed);
        disk.cut_power(dice);
        std::string shape;
        const std::string bytes = disk.bytes("/f/a");
        ASSERT_TRUE(bytes.size() == 1536 || bytes.size() == 1280);
        for (const std::size_t at : {0, 255, 256, 511, 512, 1023, 1024, 1279})
            shape += bytes[at];
        shapes.insert(shape + std::to_string(bytes.size()));
    }
    // Three pieces of one write and the new size: 16 outcomes, and no other.
    EXPECT_EQ(shapes.size(), 16u);
    for (const std::string& shape : shapes) {
        EXPECT_EQ(shape.substr(0, 2), "oo");
        for (const std::size_t pair : {2, 4, 6})
            EXPECT_EQ(shape[pair], shape[pair + 1]);
    }
}

TEST(DiskTest, FlippedBitIsFlippedForGood) {
    Disk disk(1);
    disk.put("/f/a", "abc");
    disk.flip_bit("/f/a", 8 + 1);
    EXPECT_EQ(disk.bytes("/f/a"), "a`c");
    Dice dice(1);
    disk.cut_power(dice);
    EXPECT_EQ(disk.bytes("/f/a"), "a`c");
}

TEST(DiskTest, SnapshotBringsEverythingBack) {
    Disk disk(1);
    {
        Connection db(disk);
        insert_rows(db, 5);
        disk.die();
    }
    disk.kill();
    const Disk::Snapshot then = disk.snapshot();
    {
        Connection db(disk);
        insert_rows(db, 5);
    }
    disk.restore(then);
    Connection db(disk);
    EXPECT_EQ(rows_in(db), 5);
}

TEST(DiskTest, CountsWhatIsDone) {
    Disk disk(1);
    Connection db(disk);
    insert_rows(db, 1);
    const Counters before = disk.counters();
    EXPECT_EQ(db.run(insert), SQLITE_OK);
    EXPECT_EQ(disk.counters().syncs, before.syncs + 1);
    EXPECT_GE(disk.counters().bytes_written, before.bytes_written + 4096);
    EXPECT_GT(disk.counters().calls, before.calls + 1);
}

}  // namespace

}  // namespace nightferry::sim
