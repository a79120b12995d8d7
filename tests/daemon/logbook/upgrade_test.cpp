// Logbooks of every earlier version, with something in every table, are taken over whole and go on.
#include "daemon/core/secrets.hpp"
#include "daemon/logbook/checkup.hpp"
#include "daemon/logbook/device_shelf.hpp"
#include "daemon/logbook/flag_store.hpp"
#include "daemon/logbook/order_shelf.hpp"
#include "daemon/logbook/schema.hpp"
#include "tests/daemon/logbook/open_logbook.hpp"

namespace nightferry::logbook {

namespace {

using namespace test;

// The entries of tests/daemon/logbook/released/version_N.sql by what they are.
EntryId numbered(int number) {
    return *EntryId::parse("0a1b2c3d-0000-5000-8000-00000000000" + std::to_string(number));
}
const EntryId amended_dose = numbered(1);
const EntryId waiting_weight = numbered(2);
const EntryId doubted_bruise = numbered(3);
const EntryId retracted_weight = numbered(4);
const EntryId refused_entry = numbered(5);
const EntryId vial_under_way = numbered(6);
const EntryId waiting_summary = numbered(7);  // Since version 3.

class UpgradeTest : public testing::TestWithParam<std::int64_t> {
 protected:
    void SetUp() override {
        raw_sql(file(),
                source_file("tests/daemon/logbook/released/version_" + std::to_string(GetParam()) + ".sql"));
        for (const char* table : {"entries", "revisions", "deliveries", "receipts"})
            before_[table] = rows_of(table);
    }
    std::filesystem::path file() const { return file_in(folder_.path()); }
    std::string rows_of(const std::string& table) { return raw_sql(file(), "SELECT count(*) FROM " + table); }
    std::unique_ptr<Database> opened() {
        auto db = open(file(), test_now());
        EXPECT_TRUE(db.has_value()) << db.error().detail;
        return db ? std::move(*db) : nullptr;
    }
    std::string state_of(Logbook& book, const EntryId& id) {
        const auto record = book.find(id).value();
        EXPECT_TRUE(record.has_value());
        return record ? std::string(word_for(record->deliveries.at(0).state)) : "";
    }

    TemporaryFolder folder_;
    std::map<std::string, std::string> before_;
};

TEST_P(UpgradeTest, EverythingInItIsReadableAndSound) {
    {
        const auto db = opened();
        const Checkup found = check_up(*db).value();
        EXPECT_THAT(found.faults, testing::IsEmpty());
        EXPECT_EQ(found.version, schema_version());
        EXPECT_TRUE(found.newest.has_value());
        Logbook book(*db);
        const PersonHistory history = book.history("juniper").value();
        EXPECT_THAT(history.unreadable, testing::IsEmpty());
        EXPECT_EQ(std::to_string(history.entries.size()), before_["entries"]);
        const EntryRecord dose = book.find(amended_dose).value().value();
        EXPECT_EQ(dose.current.revision, 2);
        EXPECT_EQ(std::get<entry::DoseGiven>(dose.current.content.what).amount.value.to_string(), "0.2");
        EXPECT_EQ(dose.deliveries.at(0).receipts.at(1).version_id, "2");
        EXPECT_EQ(book.find(retracted_weight).value()->current.action(), entry::Action::retract);
    }
    for (const auto& [table, rows] : before_)
        EXPECT_EQ(rows_of(table), rows) << table;
}

TEST_P(UpgradeTest, DeliveriesStayWhereTheyWereAndTheQueueGoesOn) {
    const auto db = opened();
    Logbook book(*db);
    Outbox outbox(*db);
    EXPECT_EQ(state_of(book, amended_dose), "confirmed");
    EXPECT_EQ(state_of(book, refused_entry), "set_aside");
    EXPECT_EQ(outbox.state("north").value().failures, 2);
    std::vector<EntryId> order;
    for (const Parcel& parcel : outbox.take("north", {.limit = 10}, test_now()).value()) {
        // What was under way, and what was never answered, is in doubt; the others were never sent.
        EXPECT_EQ(parcel.outcome_unknown, parcel.id == vial_under_way || parcel.id == doubted_bruise);
        order.push_back(parcel.id);
    }
    std::vector<EntryId> expected{vial_under_way, waiting_weight, doubted_bruise};
    if (GetParam() >= 3) expected.push_back(waiting_summary);
    EXPECT_EQ(order, expected);
    const Receipt receipt{1, "Observation", "o9", "1", 201, test_now()};
    const Settlement done{waiting_weight, 1, Settlement::Fate::confirmed, receipt, false, false, {}};
    ASSERT_TRUE(outbox.settle("north", std::vector{done}, {}, test_now()));
    EXPECT_EQ(state_of(book, waiting_weight), "confirmed");
    // The newest receipt is read back first, whatever was numbered when.
    EXPECT_EQ(outbox.recall("north", 1000, 1).value().at(0).id, waiting_weight);
    EXPECT_EQ(outbox.release("north", refused_entry, test_now()).value(), 1);
    EXPECT_THAT(check_up(*db).value().faults, testing::IsEmpty());
}

TEST_P(UpgradeTest, TheAuditTrailBeginsOrGoesOnUnbroken) {
    const auto db = opened();
    const std::int64_t before = check_up(*db).value().audit_rows;
    EXPECT_EQ(before > 0, GetParam() >= 8);
    Logbook book(*db);
    ASSERT_TRUE(book.share("north", policy_for({"juniper"}), test_now()));
    ASSERT_TRUE(book.accept(std::vector{arrival(a_weight("new"))}, test_now()));
    const Checkup found = check_up(*db).value();
    EXPECT_THAT(found.faults, testing::IsEmpty());
    EXPECT_GT(found.audit_rows, before);
    // Nobody is owed twice what was owed before there were policies.
    EXPECT_EQ(state_of(book, refused_entry), "set_aside");
    EXPECT_EQ(Outbox(*db).counts("north").value().waiting, GetParam() >= 3 ? 5 : 4);
}

TEST_P(UpgradeTest, WhatOnlyLaterVersionsHaveIsKept) {
    const auto db = opened();
    if (GetParam() >= 3) {
        const auto history = FlagStore(*db).history("juniper").value();
        EXPECT_THAT(history, testing::SizeIs(1));
    }
    if (GetParam() >= 6) {
        const auto patients = Outbox(*db).state("north").value().patients;
        EXPECT_EQ(patients.at("juniper").reference, "Patient/p1");
    }
    if (GetParam() >= 9) {
        const auto patients = Outbox(*db).state("north").value().patients;
        EXPECT_NE(patients.at("juniper").left_out_because, "");
        EXPECT_NE(patients.at("juniper").left_out_since, Instant{});
    }
    if (GetParam() >= 11) {
        DeviceShelf shelf(*db);
        EXPECT_THAT(shelf.list().value(), testing::SizeIs(2));
        // Of the token "abc".
        EXPECT_EQ(shelf.find(sha256("abc")).value()->carer, "tove");
    }
    if (GetParam() >= 7) {
        const OrderHistory orders = OrderShelf(*db).history("north", "juniper").value();
        EXPECT_THAT(orders.active(), testing::ElementsAre("r1"));
    }
}

class OlderLogbookTest : public UpgradeTest {};

TEST_P(OlderLogbookTest, StaysBesideTheNewOneAsItWas) {
    opened();
    const std::filesystem::path copy = file().string() + ".before-v" + std::to_string(GetParam() + 1);
    const Checkup found = check_up(copy).value();
    EXPECT_THAT(found.faults, testing::IsEmpty());
    EXPECT_EQ(found.version, GetParam());
    EXPECT_EQ(std::to_string(found.revisions), before_["revisions"]);
    // Put back by hand it is doubted like any copy.
    EXPECT_EQ(raw_sql(copy, "SELECT count(*) FROM pins WHERE name = 'copied_us'"), "1");
}

const auto name_of = [](const testing::TestParamInfo<std::int64_t>& one) {
    return "From" + std::to_string(one.param);
};
// With a new version comes a file of it.
// Until version 9 only its words told how a pass had ended.
TEST(PassResultTest, IsTakenOverFromTheWordsOfEarlierVersions) {
    const std::vector<std::pair<std::string, std::optional<PassResult>>> cases{
        {"words = 'stopped: HTTP 403'", PassResult::stopped},
        {"words = 'the window closed; what is left goes out in the next one'", PassResult::out_of_time},
        {"words = '4 confirmed'", PassResult::all_sent},
        {"pass_ended_us = pass_started_us - 1", std::nullopt},
        {"pass_started_us = 0, pass_ended_us = 0", std::nullopt},
    };
    for (const auto& [change, result] : cases) {
        TemporaryFolder folder;
        const std::filesystem::path file = file_in(folder.path());
        raw_sql(file, source_file("tests/daemon/logbook/released/version_9.sql"));
        raw_sql(file, "UPDATE clinics SET " + change);
        const auto db = open(file, test_now());
        ASSERT_TRUE(db.has_value()) << db.error().detail;
        EXPECT_EQ(Outbox(**db).state("north").value().pass_result, result) << change;
    }
}

INSTANTIATE_TEST_SUITE_P(EveryVersion, UpgradeTest, testing::Range<std::int64_t>(1, schema_version() + 1),
                         name_of);
INSTANTIATE_TEST_SUITE_P(EveryVersion, OlderLogbookTest, testing::Range<std::int64_t>(1, schema_version()),
                         name_of);

}  // namespace

}  // namespace nightferry::logbook
