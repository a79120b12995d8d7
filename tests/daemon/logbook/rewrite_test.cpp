// After a failed write or sync the file is written anew before anything relies on it.
#include <sys/stat.h>

#include "daemon/logbook/rewrite.hpp"
#include "daemon/logbook/schema.hpp"
#include "tests/daemon/logbook/simulated.hpp"

namespace nightferry::logbook {

namespace {

using namespace test;
using testing::HasSubstr;

// Entries, then one whose sync fails: visible, forgotten by the system, not on disk.
sim::Disk::Snapshot fail_a_sync(SimulatedHome& home, Acknowledged& acknowledged) {
    {
        Process now = home.process();
        EXPECT_TRUE(now.accept("w0", acknowledged).has_value());
        sim::Faults faults;
        faults.kinds = sim::syncing;
        faults.fail_at = 1;
        home.set_faults(faults);
        const auto failed = now.accept("w1", acknowledged);
        home.set_faults({});
        EXPECT_EQ(failed.error().code, Errc::storage);
        EXPECT_THAT(failed.error().detail, HasSubstr("disk failed"));
        EXPECT_TRUE(home.disk.size("/home/logbook.sqlite.in-doubt"));
        // From here on nothing is said to be there, in this process.
        EXPECT_EQ(now.accept("w2", acknowledged).error().detail, failed.error().detail);
        EXPECT_FALSE(now.book().find(id_of("w0")).has_value());
        home.disk.die();
    }
    home.disk.kill();
    return home.disk.snapshot();
}

// In the next process: hands in what was not acknowledged, and something new.
void go_on(SimulatedHome& home, Acknowledged& acknowledged) {
    Process now = home.process();
    ASSERT_TRUE(now.is_open()) << now.error().detail;
    for (const char* label : {"w1", "w2"})
        EXPECT_TRUE(now.accept(label, acknowledged).has_value());
    home.disk.die();
}

TEST(RewriteTest, FailedSyncThenRestartThenPowerCutLosesNothing) {
    for (std::uint64_t seed = 0; seed < 100; ++seed) {
        SimulatedHome home(seed);
        Acknowledged acknowledged;
        fail_a_sync(home, acknowledged);
        go_on(home, acknowledged);
        sim::Dice dice(seed);
        home.disk.cut_power(dice);
        home.expect_whole(acknowledged);
    }
}

TEST(RewriteTest, WithoutItAcknowledgedEntriesWouldBeLost) {
    int losses = 0;
    for (std::uint64_t seed = 0; seed < 100; ++seed) {
        SimulatedHome home(seed);
        Acknowledged acknowledged;
        fail_a_sync(home, acknowledged);
        home.disk.lose("/home/logbook.sqlite.in-doubt");
        go_on(home, acknowledged);
        sim::Dice dice(seed);
        home.disk.cut_power(dice);
        Process now = home.process();
        ASSERT_TRUE(now.is_open()) << now.error().detail;
        losses += now.has("w1") && now.has("w2") ? 0 : 1;
    }
    EXPECT_GT(losses, 50);
}

TEST(RewriteTest, InterruptedAnywhereItIsFinishedByTheNextStart) {
    SimulatedHome home;
    Acknowledged before;
    const auto in_doubt = fail_a_sync(home, before);
    home.set_faults({});
    const std::uint64_t calls_before = home.disk.counters().calls;
    EXPECT_TRUE(home.process().is_open());
    const std::uint64_t calls = home.disk.counters().calls - calls_before;
    ASSERT_GT(calls, 40u);
    std::uint64_t seed = 0;
    for (std::uint64_t n = 1; n <= calls; ++n) {
        for (const std::string how : {"killed", "failed", "cut", "cut", "cut", "cut"}) {
            SCOPED_TRACE(how + " at call " + std::to_string(n));
            home.disk.restore(in_doubt);
            Acknowledged acknowledged = before;
            sim::Dice dice(++seed);
            sim::Faults faults;
            (how == "failed" ? faults.fail_at : faults.die_at) = n;
            home.set_faults(faults);
            {
                const Process now = home.process();
                EXPECT_TRUE(now.is_open() || now.error().code != Errc::corrupt);
            }
            home.set_faults({});
            if (how == "killed") home.disk.kill();
            if (how == "cut") home.disk.cut_power(dice);
            go_on(home, acknowledged);
            home.disk.cut_power(dice);
            home.expect_whole(acknowledged);
        }
    }
}

TEST(RewriteTest, WhereItFailsTheLogbookStaysClosed) {
    SimulatedHome home;
    Acknowledged acknowledged;
    fail_a_sync(home, acknowledged);
    sim::Faults faults;
    faults.kinds = sim::syncing;
    faults.per_mille = 1000;
    for (int start = 0; start < 3; ++start) {
        home.set_faults(faults);
        const Error error = home.process().error();
        EXPECT_EQ(error.code, Errc::storage);
        EXPECT_THAT(error.detail, HasSubstr("after a disk error the logbook has to be written anew"));
        EXPECT_TRUE(home.disk.size("/home/logbook.sqlite.in-doubt"));
    }
    home.set_faults({});
    go_on(home, acknowledged);
    sim::Dice dice(1);
    home.disk.cut_power(dice);
    home.expect_whole(acknowledged);
}

TEST(RewriteTest, NeedsRoomAndWaitsForIt) {
    SimulatedHome home;
    Acknowledged acknowledged;
    fail_a_sync(home, acknowledged);
    sim::Faults faults;
    faults.capacity = 150'000;
    home.set_faults(faults);
    const std::string before = home.disk.bytes(home.file);
    const Error error = home.process().error();
    EXPECT_EQ(error.code, Errc::disk_full);
    EXPECT_THAT(error.detail, HasSubstr("opens again when there is room"));
    EXPECT_FALSE(home.disk.size("/home/logbook.sqlite.rewriting"));
    home.set_faults({});
    go_on(home, acknowledged);
    home.disk.kill();
    home.expect_whole(acknowledged);
}

TEST(RewriteTest, OldWalIsNeverReplayedIntoTheNewFile) {
    SimulatedHome home;
    Acknowledged acknowledged;
    fail_a_sync(home, acknowledged);
    const std::string wal = "/home/logbook.sqlite-wal";
    ASSERT_GT(home.disk.size(wal).value_or(0), 0u);
    // As a process leaves it that ended right after the point of no return, with another content to tell by.
    {
        Process now = home.process();
        EXPECT_TRUE(now.accept("w5", acknowledged).has_value());
        EXPECT_TRUE(now.db().close_cleanly().has_value());
    }
    const std::string whole = home.disk.bytes(home.file);
    SimulatedHome other(2);
    Acknowledged unused;
    fail_a_sync(other, unused);
    other.disk.put("/home/logbook.sqlite.rewritten", whole);
    other.expect_whole(acknowledged);
    EXPECT_FALSE(other.disk.size("/home/logbook.sqlite.rewritten"));
    Process now = other.process();
    EXPECT_TRUE(now.has("w5"));
}

// Also where only an index is damaged, which a copy would not show.
TEST(RewriteTest, DamagedFileIsNotWrittenAnew) {
    SimulatedHome home;
    Acknowledged acknowledged;
    EXPECT_TRUE(home.live(acknowledged).has_value());
    const std::string whole = home.disk.bytes(home.file);
    for (std::size_t page = 1; page * 4096 < whole.size(); ++page) {
        SCOPED_TRACE(page);
        std::string bytes = whole;
        std::fill_n(bytes.begin() + static_cast<std::ptrdiff_t>(page * 4096), 4096, '\xEE');
        home.disk.put(home.file, bytes);
        home.disk.put("/home/logbook.sqlite.in-doubt", "");
        EXPECT_EQ(home.process().error().code, Errc::corrupt);
        EXPECT_TRUE(home.disk.bytes(home.file) == bytes);
        EXPECT_TRUE(home.disk.size("/home/logbook.sqlite.in-doubt"));
    }
}

TEST(RewriteTest, NewFileHasTheRightsOfTheOldOne) {
    OpenLogbook log;
    log.accept(a_weight("w1"));
    log.close();
    ASSERT_EQ(::chmod(log.file().c_str(), 0600), 0);
    struct stat before {};
    ASSERT_EQ(::stat(log.file().c_str(), &before), 0);
    const std::filesystem::path mark = log.file().string() + ".in-doubt";
    write_file(mark, "");
    log.open();
    EXPECT_EQ(log.delivery("w1"), "waiting for 1");
    struct stat after {};
    ASSERT_EQ(::stat(log.file().c_str(), &after), 0);
    EXPECT_NE(after.st_ino, before.st_ino);
    EXPECT_EQ(after.st_mode & 07777, 0600u);
    EXPECT_FALSE(std::filesystem::exists(mark));
    // Others are kept out throughout.
    EXPECT_EQ(open(log.file(), test_now()).error().code, Errc::locked);
}

// A file as version 1 left it, on the simulated disk.
void put_version_1(SimulatedHome& home) {
    put_empty_logbook(home.file, 1);
    const std::string id = "'" + id_of("w0").to_string() + "'";
    raw_sql(home.file, "INSERT INTO entries VALUES (" + id + ", 'weight', 'juniper', 1, 1, 0);" +
                           "INSERT INTO revisions VALUES (" + id + ", 1, 2, 'inbox', '" +
                           entry::to_body(a_weight("w0")) + "')");
}

TEST(MigrationTest, InterruptedAnywhereItLeavesTheOldFileOrTheNewOneAndNoHalfCopy) {
    SimulatedHome home;
    put_version_1(home);
    home.disk.lose(home.file.string() + "-journal");
    home.disk.put(home.file, home.disk.bytes(home.file));
    const auto old = home.disk.snapshot();
    const std::uint64_t calls_before = home.disk.counters().calls;
    EXPECT_TRUE(home.process().is_open());
    const std::uint64_t calls = home.disk.counters().calls - calls_before;
    const std::string copy = home.file.string() + ".before-v2";
    int copies = 0;
    for (std::uint64_t n = 1; n <= calls; ++n) {
        for (const std::string how : {"killed", "cut", "failed"}) {
            SCOPED_TRACE(how + " at call " + std::to_string(n));
            home.disk.restore(old);
            sim::Dice dice(n);
            sim::Faults faults;
            (how == "failed" ? faults.fail_at : faults.die_at) = n;
            home.set_faults(faults);
            {
                const Process now = home.process();
                EXPECT_TRUE(now.is_open() || now.error().code != Errc::corrupt);
            }
            home.set_faults({});
            if (how == "killed") home.disk.kill();
            if (how == "cut") home.disk.cut_power(dice);
            if (home.disk.size(copy)) {
                ++copies;
                EXPECT_EQ(raw_sql(copy, "PRAGMA integrity_check"), "ok");
                EXPECT_EQ(raw_sql(copy, "SELECT count(*) FROM revisions"), "1");
            }
            home.expect_whole({{"w0"}, {}});
            EXPECT_EQ(raw_sql(copy, "PRAGMA user_version"), "1");
            EXPECT_FALSE(home.disk.size(copy + ".copying"));
        }
    }
    EXPECT_GT(copies, 50);
}

}  // namespace

}  // namespace nightferry::logbook
