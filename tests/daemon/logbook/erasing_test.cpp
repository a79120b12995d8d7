// Erasing a person: nothing of them is left in any file of the data folder, and the rest is as it was.
#include "daemon/logbook/erasing.hpp"

#include "daemon/logbook/checkup.hpp"
#include "daemon/logbook/device_shelf.hpp"
#include "daemon/logbook/exporting.hpp"
#include "daemon/logbook/flag_store.hpp"
#include "daemon/logbook/order_shelf.hpp"
#include "daemon/logbook/schema.hpp"
#include "tests/daemon/logbook/simulated.hpp"

namespace nightferry::logbook {

namespace {

using namespace test;

constexpr char canary[] = "a canary sang at breakfast";

entry::Submission with_canary(const std::string& label) {
    return a_weight(label, "18.4", "2026-10-12T08:00", R"(,"note":")" + std::string(canary) + "\"");
}

entry::Submission of_rowan(entry::Submission submission) {
    submission.entry->person = "rowan";
    return submission;
}

// How many files of the folder hold the text.
int files_with(const std::filesystem::path& folder, const std::string& text) {
    int found = 0;
    for (const auto& item : std::filesystem::directory_iterator(folder))
        found += read_file(item.path()).find(text) != std::string::npos ? 1 : 0;
    return found;
}

const Erasure of_juniper{"juniper", "marlow", "moved away"};

Result<Erased> erase_juniper(OpenLogbook& log) {
    log.close();
    auto erased = erase(std::move(open(log.file(), test_now()).value()), log.file(), of_juniper, test_now(),
                        system_files());
    log.open();
    return erased;
}

TEST(ErasingTest, NothingOfThePersonIsLeftInAnyFileAndTheOthersAreUntouched) {
    OpenLogbook log;
    const std::filesystem::path folder = log.file().parent_path();
    for (int i = 0; i < 300; ++i)
        log.accept(with_canary("w" + std::to_string(i)));
    log.accept(amended(with_canary("w1"), "2026-10-12T09:00"));
    log.accept(of_rowan(a_weight("other", "31.5")));
    log.take(2);
    log.settle(confirmed("w0"));
    log.settle(refused("w1", 2, canary));
    ASSERT_TRUE(log.outbox().close("north", id_of("w1"), "marlow", canary, test_now()).value());
    const care::FlagEvent event{
        "missed", care::FlagEventKind::raised, test_now(), care::Level::note, test_now(), canary, "", ""};
    ASSERT_TRUE(FlagStore(log.db()).add("juniper", std::vector{event}));
    ASSERT_TRUE(
        OrderShelf(log.db()).keep("north", {"juniper", {{"r1", "active", canary}}, 0, {}}, test_now()));
    ClinicState state;
    state.words = canary;
    state.pass_result = PassResult::stopped;
    state.patients["juniper"] = {"urn:example:mrn|4711", "Patient/p1", canary, test_now()};
    ASSERT_TRUE(log.outbox().settle("north", {}, state, test_now()));
    write_file(log.file().string() + ".before-v3", canary);
    write_file(log.file().string() + ".aside-20261101T120000Z", canary);
    ASSERT_GE(files_with(folder, canary), 3);

    const auto erased = erase_juniper(log);
    ASSERT_TRUE(erased.has_value()) << erased.error().detail;
    EXPECT_EQ(erased->before.entries, 300);
    EXPECT_EQ(erased->before.revisions, 301);
    EXPECT_EQ(erased->before.copies.size(), 2U);
    ASSERT_EQ(erased->before.clinics.size(), 1U);
    EXPECT_EQ(erased->before.clinics[0].confirmed, 1);
    EXPECT_EQ(erased->before.clinics[0].perhaps, 1);
    EXPECT_EQ(files_with(folder, canary), 0);
    EXPECT_EQ(files_with(folder, "4711"), 0);
    EXPECT_EQ(files_with(folder, "juniper"), 0);

    const Checkup found = check_up(log.db()).value();
    EXPECT_THAT(found.faults, testing::IsEmpty());
    EXPECT_EQ(found.entries, 1);
    EXPECT_EQ(log.delivery("other"), "waiting for 1");
    EXPECT_EQ(log.outbox().state("north").value().pass_result, PassResult::stopped)
        << "only its words are gone";
    log.close();
    EXPECT_EQ(files_with(folder, canary), 0);
}

TEST(ErasingTest, PairedPhonesStay) {
    OpenLogbook log;
    log.accept(with_canary("w1"));
    ASSERT_TRUE(DeviceShelf(log.db()).add(
        {"kitchen", "a phone", "marlow", std::string(64, 'a'), test_now(), std::nullopt, ""}));
    ASSERT_TRUE(erase_juniper(log));
    const auto devices = DeviceShelf(log.db()).list().value();
    ASSERT_THAT(devices, testing::SizeIs(1));
    EXPECT_EQ(devices[0].revoked, std::nullopt);
}

TEST(ErasingTest, TheAuditTrailHoldsAndSaysWhoErasedAndNotWhat) {
    OpenLogbook log;
    log.accept(with_canary("w1"));
    const auto erased = erase_juniper(log);
    ASSERT_TRUE(erased);
    const auto rows = AuditTrail(log.db()).rows(0, 100).value();
    ASSERT_THAT(rows, testing::SizeIs(2));
    EXPECT_EQ(rows[0].entry, id_of("w1").to_string());
    EXPECT_EQ(rows[1].event, "erased");
    EXPECT_EQ(rows[1].detail, "entries=1;by=marlow;reason=moved away");
    EXPECT_EQ(rows[1].entry, "");
    EXPECT_EQ(erased->after.audit_hash, rows[1].hash) << "the proof that is handed out";
    EXPECT_EQ(erased->after.audit_rows, 2);
    ChainCheck chain;
    for (const AuditRow& row : rows)
        EXPECT_EQ(chain.next(row), std::nullopt);
}

// A file with something in every table: none that can name a person or an entry is forgotten, a new one
// neither. The audit trail alone keeps ids.
TEST(ErasingTest, NoTableKeepsARowOfThePerson) {
    TemporaryFolder folder;
    const std::filesystem::path file = file_in(folder.path());
    raw_sql(file, source_file("tests/daemon/logbook/released/version_" + std::to_string(schema_version()) +
                              ".sql"));
    std::istringstream named(raw_sql(
        file,
        "SELECT group_concat(m.name || '.' || c.name, ' ') FROM sqlite_master m, pragma_table_info(m.name) c "
        "WHERE m.type = 'table' AND m.name <> 'audit' AND c.name IN ('person', 'entry_id')"));
    const std::string ids =
        raw_sql(file, "SELECT group_concat(quote(entry_id)) FROM entries WHERE person = 'juniper'");
    std::vector<std::string> counts;
    for (std::string column; named >> column;) {
        const auto dot = column.find('.');
        const bool is_person = column.substr(dot) == ".person";
        counts.push_back("SELECT count(*) FROM " + column.substr(0, dot) + " WHERE " +
                         (is_person ? "person = 'juniper'" : "entry_id IN (" + ids + ")"));
        EXPECT_NE(raw_sql(file, counts.back()), "0") << counts.back();
    }
    ASSERT_GE(counts.size(), 8U);
    ASSERT_TRUE(
        erase(std::move(open(file, test_now()).value()), file, of_juniper, test_now(), system_files()));
    for (const std::string& count : counts)
        EXPECT_EQ(raw_sql(file, count), "0") << count;
}

// Everything that lies in the folder of a simulated home.
std::string all_bytes(SimulatedHome& home) {
    std::string all;
    for (const Files::Found& one : home.files.list("/home").value())
        all += home.disk.bytes(one.file);
    return all;
}

// The process ends, or the power is cut, in the n-th call of an erasing. False when it got through before.
bool is_all_or_nothing(std::uint64_t n, bool power) {
    SimulatedHome home(n);
    {
        Process now = home.process();
        EXPECT_TRUE(now.book().accept(std::vector{arrival(with_canary("w1")), arrival(with_canary("w2")),
                                                  arrival(of_rowan(a_weight("other")))},
                                      test_now()));
    }
    for (const char* copy : {"logbook.sqlite.before-v3", "logbook.sqlite.aside-20261101T120000Z-wal",
                             "logbook-2026-11-26", "logbook-2026-11-26.part", "old.sqlite", "old.sqlite-wal"})
        home.disk.put("/home/" + std::string(copy), canary);
    auto opened = std::move(open(home.file, test_now(), home.files).value());
    sim::Faults faults;
    faults.die_at = n;
    home.set_faults(faults);
    const bool is_through =
        erase(std::move(opened), home.file, of_juniper, test_now(), home.files).has_value();
    home.set_faults({});
    if (is_through) return false;
    sim::Dice dice(n);
    power ? home.disk.cut_power(dice) : home.disk.kill();
    bool is_erased = false;
    {
        Process next = home.process();
        EXPECT_TRUE(next.is_open()) << next.error().detail;
        is_erased = AuditTrail(next.db()).rows(0, 100).value().back().event == "erased";
        for (const char* label : {"w1", "w2"})
            EXPECT_EQ(next.has(label), !is_erased) << label;
        EXPECT_TRUE(next.has("other"));
        EXPECT_THAT(check_up(next.db()).value().faults, testing::IsEmpty());
    }
    EXPECT_EQ(all_bytes(home).find(canary) == std::string::npos, is_erased);
    EXPECT_EQ(home.disk.size(home.file.string() + ".before-v3").has_value(), !is_erased);
    return true;
}

TEST(ErasingTest, CutShortInAnyCallItIsEndedByTheNextStartOrNotBegun) {
    for (const bool power : {false, true}) {
        std::uint64_t n = 1;
        for (; is_all_or_nothing(n, power); ++n)
            ASSERT_FALSE(HasFailure()) << "call " << n << (power ? ", power cut" : ", process ends");
        EXPECT_GT(n, 20U);
    }
}

TEST(ErasingTest, WithoutRoomNothingIsErasedAndTheNextStartNeedsNoMore) {
    SimulatedHome home;
    {
        Process now = home.process();
        EXPECT_TRUE(now.book().accept(std::vector{arrival(with_canary("w1"))}, test_now()));
    }
    auto opened = std::move(open(home.file, test_now(), home.files).value());
    sim::Faults faults;
    faults.capacity = 1;
    home.set_faults(faults);
    const auto erased = erase(std::move(opened), home.file, of_juniper, test_now(), home.files);
    ASSERT_FALSE(erased);
    EXPECT_EQ(erased.error().code, Errc::disk_full);
    EXPECT_FALSE(home.disk.size(home.file.string() + ".in-doubt"));
    home.set_faults({});
    Process next = home.process();
    EXPECT_TRUE(next.has("w1"));
}

// A restore from a life whose clock was ahead doubts what happened until then; erasing somebody ends that
// not.
TEST(ErasingTest, WhatIsInDoubtForLongerStaysSo) {
    OpenLogbook log;
    log.accept(with_canary("w1"));
    log.damage("INSERT INTO pins VALUES ('restored_us', '" +
               std::to_string((test_now() + std::chrono::days{30}).time_since_epoch().count()) + "')");
    ASSERT_TRUE(erase_juniper(log));
    log.close();
    EXPECT_EQ(raw_sql(log.file(),
                      "SELECT CAST(value AS INTEGER) > " +
                          std::to_string((test_now() + std::chrono::days{30}).time_since_epoch().count()) +
                          " - 1 FROM pins WHERE name = 'restored_us'"),
              "1");
}

// Numbers of receipts are given again from the highest one left.
TEST(ErasingTest, ReceiptsOfOthersAreNotTakenForOlderThanTheyAre) {
    OpenLogbook log;
    log.accept(of_rowan(a_weight("other")));
    log.accept(with_canary("w1"));
    log.take();
    log.settle(confirmed("w1"));
    Settlement again;
    again.id = id_of("other");
    again.revision = 1;
    again.outcome_unknown = true;
    log.settle(again);
    log.take();
    ASSERT_TRUE(erase_juniper(log));
    log.take();
    log.settle(confirmed("other"));
    log.close();
    EXPECT_EQ(raw_sql(log.file(), "SELECT max(written_after) < min(number) FROM receipts"), "1");
}

TEST(ErasingTest, TheEntryCanBeHandedInAgainAndIsANewOne) {
    OpenLogbook log;
    log.accept(with_canary("w1"));
    ASSERT_TRUE(erase_juniper(log));
    EXPECT_EQ(log.accept(with_canary("w1")).kind, Verdict::Kind::add);
    EXPECT_EQ(log.delivery("w1"), "waiting for 1");
    EXPECT_THAT(check_up(log.db()).value().faults, testing::IsEmpty());
    EXPECT_TRUE(log.take().at(0).outcome_unknown) << "a clinic may have it from before";
}

TEST(ExportingTest, PagesHoldEveryRevisionOnceAndLeaveSummariesOut) {
    OpenLogbook log;
    for (int i = 0; i < 5; ++i)
        log.accept(a_weight("w" + std::to_string(i)));
    log.accept(amended(a_weight("w3", "18.6"), "2026-10-12T09:00"));
    log.accept(a_retraction("w4", "2026-10-12T10:00"));
    log.accept(of_rowan(a_weight("other")));
    PageWish wish;
    wish.limit = 2;
    wish.person = "juniper";
    std::string all;
    int pages = 0;
    for (bool more = true; more; ++pages) {
        const BodyPage page = bodies(log.db(), wish).value();
        all += page.lines;
        wish.after = page.last;
        more = !page.last.empty();
    }
    EXPECT_EQ(pages, 4);
    EXPECT_EQ(std::count(all.begin(), all.end(), '\n'), 7);
    EXPECT_EQ(all.find("rowan"), std::string::npos);
    EXPECT_NE(all.find(entry::to_body(amended(a_weight("w3", "18.6"), "2026-10-12T09:00")) + "\n"),
              std::string::npos);
    EXPECT_THAT(persons_in(log.db()).value(), testing::ElementsAre("juniper", "rowan"));
}

}  // namespace

}  // namespace nightferry::logbook
