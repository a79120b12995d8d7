// What a logbook that was put back doubts.
#include "daemon/logbook/rows.hpp"
#include "tests/daemon/logbook/backups.hpp"

namespace nightferry::logbook {

namespace {

using namespace test;
using testing::HasSubstr;

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
    // As if the copy had been made shortly before.
    raw_sql(file, "UPDATE pins SET value = value - 30 * 86400 * 1000000 WHERE name = 'copied_us'");
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

// Whether what happened at this time and is handed in after the first start at `now` is looked up before it
// is sent.
bool is_doubted(const std::filesystem::path& file, Instant now, const std::string& happened) {
    const auto db = open(file, now);
    EXPECT_TRUE(db.has_value());
    EXPECT_TRUE(Logbook(**db).accept(std::vector{arrival(a_weight(happened, "18.4", happened))}, now));
    return Outbox(**db).take("north", {.limit = 9}, now).value().at(0).outcome_unknown;
}

TEST(RestoreTest, AClockThatIsWrongAtTheFirstStartDoesNotShortenTheDoubt) {
    const Instant far_behind = instant("2026-01-01T00:00Z");
    TemporaryFolder folder;
    const std::filesystem::path file = file_in(folder.path());
    const auto begin = [&](const std::string& pins) {
        OpenLogbook log;
        std::filesystem::remove(folder / "backup");
        std::filesystem::remove(file);
        back_up(log, folder / "backup");
        raw_sql(folder / "backup", "DELETE FROM pins WHERE name = 'copied_us'; " + pins);
        std::filesystem::copy_file(folder / "backup", file);
    };
    const auto pin = [](const std::string& name, const std::string& moment) {
        return "INSERT OR REPLACE INTO pins VALUES ('" + name + "', '" +
               std::to_string(micros(instant(moment))) + "')";
    };
    // test_now() is 12:00 on the second; an entry may lie up to five minutes ahead of the clock.
    for (const std::string& pins :
         {pin("copied_us", "2026-10-12T08:00Z"),
          pin("copied_us", "2026-02-01T00:00Z") + ";" + pin("lost_us", "2026-10-12T08:00Z"),
          pin("copied_us", "2026-02-01T00:00Z") + ";" + pin("restored_us", "2026-10-12T08:00Z")}) {
        begin(pins);
        EXPECT_TRUE(is_doubted(file, far_behind, "2026-10-12T08:04Z")) << pins;
        begin(pins);
        EXPECT_FALSE(is_doubted(file, far_behind, "2026-10-12T08:06Z")) << pins;
    }
    // What cannot be read shortens nothing either, and keeps no daemon from starting.
    begin("INSERT INTO pins VALUES ('copied_us', '9999999999999999999999')");
    EXPECT_THAT(check_up(folder / "backup").value().faults,
                testing::ElementsAre("what is remembered as copied_us is no time"));
    EXPECT_TRUE(is_doubted(file, later, "2026-10-12T08:04Z"));
}

TEST(RestoreTest, TheLogbookThatIsMovedAsideTellsUntilWhenItLived) {
    OpenLogbook log;
    TemporaryFolder folder;
    back_up(log, folder / "backup");
    log.accept(a_weight("w1"));
    log.close();
    const Instant future = instant("2030-01-01T00:00Z");
    raw_sql(log.file(), "UPDATE revisions SET accepted_us = " + std::to_string(micros(future)));
    ASSERT_TRUE(restore(folder / "backup", log.file(), true, later));
    EXPECT_EQ(raw_sql(log.file(), "SELECT value FROM pins WHERE name = 'lost_us'"),
              std::to_string(micros(future)));
    log.open();
    EXPECT_EQ(raw_sql(folder / "backup", "SELECT count(*) FROM pins WHERE name = 'lost_us'"), "0");
}

TEST(RestoreTest, ACopyWithoutAMarkIsAsOldAsItsNewestEntry) {
    OpenLogbook log;
    TemporaryFolder folder;
    log.accept(a_weight("w1"));
    log.close();
    const std::filesystem::path file = folder / "logbook.sqlite";
    ASSERT_TRUE(restore(log.file(), file, false, later));
    const auto db = open(file, later);
    ASSERT_TRUE(db.has_value()) << db.error().detail;
    const auto rows = AuditTrail(**db).rows(0, 100).value();
    EXPECT_EQ(std::ranges::find(rows, "restored", &AuditRow::event)->detail, "copy of 2026-11-02T12:00:00Z");
}

}  // namespace

}  // namespace nightferry::logbook
