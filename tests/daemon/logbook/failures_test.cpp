// What people are told when a call fails: never that the file is damaged or the settings are wrong when it
// was the disk, and with the system's own words where there are any.
#include "daemon/logbook/failures.hpp"

#include <sqlite3.h>

#include "tests/daemon/logbook/simulated.hpp"

namespace nightferry::logbook {

namespace {

using namespace test;
using testing::AnyOf;
using testing::HasSubstr;

TEST(FailuresTest, FileThatCannotBeOpenedIsJudgedByWhatTheSystemSays) {
    for (const int system : {EIO, EMFILE, ENFILE, ENOMEM}) {
        const Error error = error_from_sqlite(SQLITE_CANTOPEN, system);
        EXPECT_EQ(error.code, Errc::storage);
        EXPECT_THAT(error.detail, HasSubstr(std::generic_category().message(system)));
    }
    for (const int system : {ENOSPC, EDQUOT})
        EXPECT_EQ(error_from_sqlite(SQLITE_CANTOPEN, system).code, Errc::disk_full);
    for (const int system : {0, ENOENT, EACCES, EROFS})
        EXPECT_EQ(error_from_sqlite(SQLITE_CANTOPEN, system).code, Errc::setup);
}

TEST(FailuresTest, PageThatTheDiskDoesNotGiveIsNotDamaged) {
    const Error unread = error_from_sqlite(SQLITE_CORRUPT, EIO);
    EXPECT_EQ(unread.code, Errc::storage);
    EXPECT_EQ(unread.detail, "the logbook's disk failed: a page could not be read (" +
                                 std::generic_category().message(EIO) + ")");
    EXPECT_EQ(error_from_sqlite(SQLITE_CORRUPT, 0).code, Errc::corrupt);
    EXPECT_FALSE(leaves_doubt(SQLITE_IOERR_CORRUPTFS, EIO));
}

// A logbook with a row so long that it has pages of its own; its last process was killed.
void live(SimulatedHome& home) {
    Acknowledged acknowledged;
    EXPECT_TRUE(home.live(acknowledged).has_value());
    {
        Process now = home.process();
        EXPECT_TRUE(now.db().run("INSERT INTO pins VALUES ('wide', hex(zeroblob(20000)))").has_value());
        EXPECT_TRUE(now.accept("w9", acknowledged).has_value());
        home.disk.die();
    }
    home.disk.kill();
}

void expect_it_was_the_disk(const Error& error) {
    EXPECT_EQ(error.code, Errc::storage) << error.detail;
    EXPECT_THAT(error.detail, HasSubstr("the logbook's disk failed"));
    EXPECT_THAT(error.detail, Not(AnyOf(HasSubstr("damaged"), HasSubstr("restore"), HasSubstr("must exist"),
                                        HasSubstr("read-only"))));
}

TEST(FailuresTest, AnyCallThatFailsInAStartIsTheDisksFailure) {
    int failed = 0;
    for (std::uint64_t n = 1; n < 200; ++n) {
        SCOPED_TRACE(n);
        SimulatedHome home;
        live(home);
        sim::Faults faults;
        faults.fail_at = n;
        home.set_faults(faults);
        const Error error = home.process().error();
        if (error.detail.empty()) continue;
        ++failed;
        expect_it_was_the_disk(error);
        home.set_faults({});
        home.expect_whole({{"w0", "w9"}, {}});
    }
    EXPECT_GT(failed, 20);
}

TEST(FailuresTest, DiskThatGivesNothingMoreIsNamedWithTheSystemsWords) {
    for (const sim::Call kind : {sim::opening, sim::reading}) {
        SimulatedHome home;
        live(home);
        sim::Faults faults;
        faults.kinds = kind;
        faults.per_mille = 1000;
        home.set_faults(faults);
        const Error error = home.process().error();
        expect_it_was_the_disk(error);
        EXPECT_THAT(error.detail, HasSubstr("Input/output error"));
    }
}

TEST(FailuresTest, LogbookThatCannotBeMadeForAMomentIsNotAMatterOfSetup) {
    int failed = 0;
    for (std::uint64_t n = 1; n < 40; ++n) {
        SCOPED_TRACE(n);
        SimulatedHome home;
        sim::Faults faults;
        faults.kinds = sim::opening;
        faults.fail_at = n;
        home.set_faults(faults);
        const Error error = home.process().error();
        EXPECT_THAT(home.disk.files_in("/home"), Not(testing::Contains(HasSubstr("trial"))));
        if (error.detail.empty()) continue;
        ++failed;
        expect_it_was_the_disk(error);
    }
    EXPECT_GT(failed, 1);
}

// A damaged file is still called one, also by a process that met a failing disk before.
TEST(FailuresTest, DamageIsStillDamageAfterADiskError) {
    SimulatedHome home;
    live(home);
    sim::Faults faults;
    faults.kinds = sim::reading;
    faults.per_mille = 1000;
    home.set_faults(faults);
    EXPECT_EQ(home.process().error().code, Errc::storage);
    home.set_faults({});
    std::string bytes = home.disk.bytes(home.file);
    std::fill(bytes.begin() + 4096, bytes.end(), '\xEE');
    home.disk.put(home.file, bytes);
    EXPECT_EQ(home.process().error().code, Errc::corrupt);
}

}  // namespace

}  // namespace nightferry::logbook
