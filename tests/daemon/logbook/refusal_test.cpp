// What is not opened, and what people are told then; and what is not checked.
#include "daemon/logbook/schema.hpp"
#include "tests/daemon/logbook/simulated.hpp"

namespace nightferry::logbook {

namespace {

using namespace test;
using testing::AllOf;
using testing::HasSubstr;

const std::string wal = "/home/logbook.sqlite-wal";
const std::string closed = "/home/logbook.sqlite.closed";

// A life that ended by a kill, so that the WAL is there, or cleanly.
void live(SimulatedHome& home, bool ends_cleanly) {
    Acknowledged acknowledged;
    EXPECT_TRUE(home.live(acknowledged).has_value());
    if (ends_cleanly) return;
    {
        Process now = home.process();
        EXPECT_TRUE(now.accept("w9", acknowledged).has_value());
        home.disk.die();
    }
    home.disk.kill();
}

void spoil_a_page(SimulatedHome& home, std::size_t page) {
    std::string bytes = home.disk.bytes(home.file);
    ASSERT_GT(bytes.size(), page * 4096);
    std::fill_n(bytes.begin() + static_cast<std::ptrdiff_t>(page * 4096), 4096, '\xEE');
    home.disk.put(home.file, bytes);
}

TEST(RefusalTest, NoNewLogbookIsBegunWhereOneWasLost) {
    for (const bool is_empty : {false, true}) {
        SimulatedHome home;
        live(home, false);
        ASSERT_GT(home.disk.size(wal).value_or(0), 0u);
        const std::string wal_before = home.disk.bytes(wal);
        home.disk.lose(home.file);
        if (is_empty) home.disk.put(home.file, "");
        const Error error = home.process().error();
        EXPECT_EQ(error.code, Errc::corrupt);
        EXPECT_THAT(error.detail,
                    AllOf(HasSubstr(is_empty ? "logbook.sqlite is empty" : "logbook.sqlite is missing"),
                          HasSubstr("logbook.sqlite-wal beside it shows that there was one"),
                          HasSubstr("To go back to a copy")));
        EXPECT_TRUE(home.disk.bytes(wal) == wal_before);
        EXPECT_EQ(home.disk.size(home.file).has_value(), is_empty);
    }
}

TEST(RefusalTest, LogbookThatWasLostAfterACleanEndIsMissedToo) {
    SimulatedHome home;
    live(home, true);
    home.disk.lose(home.file);
    EXPECT_THAT(home.process().error().detail, HasSubstr("logbook.sqlite.closed beside it shows"));
    home.disk.lose(closed);
    EXPECT_TRUE(home.process().is_open());
}

TEST(RefusalTest, EmptyFileAloneIsANewLogbook) {
    SimulatedHome home;
    home.disk.put(home.file, "");
    EXPECT_TRUE(home.process().is_open());
}

TEST(RefusalTest, DamageIsExplainedWithTheCopiesAndTheWayBack) {
    SimulatedHome home;
    live(home, true);
    home.disk.lose(closed);
    spoil_a_page(home, 4);
    const std::string damaged = home.disk.bytes(home.file);
    const Error alone = home.process().error();
    EXPECT_EQ(alone.code, Errc::corrupt);
    EXPECT_THAT(alone.detail, HasSubstr("No copy of it lies in that folder"));
    home.disk.put("/home/logbook.sqlite.before-v3", "x");
    home.disk.put("/home/logbook.sqlite.before-v4.copying", "x");
    home.disk.put("/home/sunday.sqlite", "x");
    home.disk.put("/home/letters.txt", "x");
    const Error error = home.process().error();
    EXPECT_THAT(error.detail,
                AllOf(HasSubstr("the logbook file is damaged; keep a copy of it and restore the last backup"),
                      HasSubstr("logbook.sqlite.before-v3 (last changed 2026-11-02T12:00:00Z)"),
                      HasSubstr("sunday.sqlite (last changed 2026-11-02T12:00:00Z)"),
                      HasSubstr("stop nightferryd, run 'nightferry restore --move-aside COPY'"),
                      HasSubstr("the file that is at /home/logbook.sqlite now is kept")));
    EXPECT_THAT(error.detail, Not(AnyOf(HasSubstr("letters"), HasSubstr("copying"))));
    EXPECT_TRUE(home.disk.bytes(home.file) == damaged);
}

TEST(RefusalTest, TheWayBackWorks) {
    SimulatedHome home;
    live(home, true);
    const std::string copy = home.disk.bytes(home.file);
    live(home, true);
    home.disk.lose(closed);
    spoil_a_page(home, 4);
    EXPECT_FALSE(home.process().is_open());
    home.disk.lose(home.file);
    home.disk.lose(wal);
    home.disk.put(home.file, copy);
    home.expect_whole({{"w0", "w1", "w2", "w3", "w4"}, {"w0", "w1"}});
}

TEST(RefusalTest, ReadOnlyDiskIsNamedWithWhatToDo) {
    SimulatedHome home;
    live(home, true);
    sim::Faults faults;
    faults.read_only = true;
    home.set_faults(faults);
    const Error error = home.process().error();
    EXPECT_EQ(error.code, Errc::setup);
    EXPECT_THAT(error.detail,
                AllOf(HasSubstr("read-only"), HasSubstr("mounted read-only"), HasSubstr("'mount'")));
    home.set_faults({});
    {
        Process now = home.process();
        home.set_faults(faults);
        Acknowledged acknowledged;
        EXPECT_THAT(now.accept("w9", acknowledged).error().detail, HasSubstr("mounted read-only"));
        home.set_faults({});
    }
    home.expect_whole({{"w0", "w4"}, {}});
}

TEST(ClosingTest, CleanEndLeavesOneFileAndTheMarkThatTheNextStartTakes) {
    SimulatedHome home;
    live(home, true);
    EXPECT_THAT(home.disk.files_in("/home"), testing::ElementsAre(home.file.string(), closed));
    {
        Process now = home.process();
        EXPECT_TRUE(now.is_open());
        EXPECT_FALSE(home.disk.size(closed));
    }
    EXPECT_FALSE(home.disk.size(closed));
    sim::Dice dice(1);
    home.disk.cut_power(dice);
    EXPECT_FALSE(home.disk.size(closed));
}

TEST(ClosingTest, LogbookIsFreeForTheNextProcessAndNothingOfThisOneRemains) {
    SimulatedHome home;
    Process first = home.process();
    EXPECT_EQ(home.process().error().code, Errc::locked);
    EXPECT_TRUE(first.db().close_cleanly().has_value());
    EXPECT_TRUE(home.process().is_open());
}

TEST(ClosingTest, FailedCheckpointLeavesNoMark) {
    SimulatedHome home;
    {
        Process now = home.process();
        sim::Faults faults;
        faults.kinds = sim::writing;
        faults.fail_at = 1;
        home.set_faults(faults);
        EXPECT_EQ(now.db().close_cleanly().error().code, Errc::storage);
    }
    EXPECT_FALSE(home.disk.size(closed));
    EXPECT_TRUE(home.disk.size("/home/logbook.sqlite.in-doubt"));
    home.expect_whole({});
}

TEST(CheckTest, WholeFileIsCheckedOnlyAfterAnUncleanEnd) {
    for (const bool clean : {true, false}) {
        SimulatedHome home;
        live(home, true);
        // A row so long that it has pages that opening does not read.
        {
            Process now = home.process();
            EXPECT_TRUE(now.db()
                            .run("INSERT INTO known_patients (clinic, person, identifier, reference) "
                                 "VALUES ('north', 'wide', hex(zeroblob(20000)), '')")
                            .has_value());
            EXPECT_TRUE(now.db().close_cleanly().has_value());
        }
        if (!clean) home.disk.lose(closed);
        spoil_a_page(home, home.disk.bytes(home.file).size() / 4096 - 4);
        const Error error = home.process().error();
        EXPECT_EQ(error.detail.empty(), clean) << error.detail;
    }
}

TEST(CheckTest, BigFileIsNotReadAsAWhole) {
    SimulatedHome home;
    {
        Process now = home.process();
        EXPECT_TRUE(now.db()
                        .run("WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 17) "
                             "INSERT INTO known_patients (clinic, person, identifier, reference) "
                             "SELECT 'north', i, hex(zeroblob(1000000)), '' FROM n")
                        .has_value());
    }
    ASSERT_GT(home.disk.size(home.file).value_or(0), 32u * 1024 * 1024);
    home.disk.kill();
    const std::uint64_t before = home.disk.counters().calls;
    EXPECT_TRUE(home.process().is_open());
    EXPECT_LT(home.disk.counters().calls - before, 500u);
}

}  // namespace

}  // namespace nightferry::logbook
