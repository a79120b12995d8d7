// Paired phones: kept over restarts and power cuts, and gone for good once they were revoked.
#include "daemon/logbook/device_shelf.hpp"

#include "daemon/core/secrets.hpp"
#include "daemon/logbook/audit.hpp"
#include "daemon/logbook/checkup.hpp"
#include "daemon/logbook/exporting.hpp"
#include "tests/daemon/logbook/backups.hpp"
#include "tests/daemon/logbook/simulated.hpp"

namespace nightferry::logbook {
namespace {

using namespace std::chrono_literals;
using namespace test;
using testing::ElementsAre;

Device a_device(const std::string& id, const std::string& carer = "tove") {
    return {id, "the phone of " + id, carer, sha256("token of " + id), test_now(), std::nullopt, ""};
}

// "kitchen tove", "old tove revoked".
std::vector<std::string> listed(Database& db) {
    std::vector<std::string> told;
    const auto devices = DeviceShelf(db).list();
    EXPECT_TRUE(devices.has_value());
    for (const Device& one : *devices)
        told.push_back(one.id + " " + one.carer + (one.revoked ? " revoked" : ""));
    return told;
}

// Of pairing only: "unpaired device=old;carer=tove;by=marlow".
std::vector<std::string> audited(Database& db) {
    std::vector<std::string> told;
    for (const AuditRow& row : AuditTrail(db).rows(0, 1000).value()) {
        if (row.event.ends_with("paired")) told.push_back(row.event + " " + row.detail);
    }
    return told;
}

class DeviceShelfTest : public testing::Test {
 protected:
    DeviceShelf shelf() { return DeviceShelf(log_.db()); }
    std::optional<Device> find(const std::string& token) { return shelf().find(sha256(token)).value(); }

    OpenLogbook log_;
};

TEST_F(DeviceShelfTest, DeviceIsKnownByItsTokenAlsoAfterARestart) {
    ASSERT_TRUE(shelf().add(a_device("kitchen")));
    ASSERT_TRUE(shelf().add(a_device("hall", "marlow")));
    log_.reopen();
    const auto found = find("token of hall");
    ASSERT_TRUE(found);
    EXPECT_EQ(found->id, "hall");
    EXPECT_EQ(found->carer, "marlow");
    EXPECT_EQ(found->name, "the phone of hall");
    EXPECT_EQ(found->paired, test_now());
    EXPECT_EQ(find("token of nobody"), std::nullopt);
    EXPECT_EQ(shelf().find("").value(), std::nullopt);
    EXPECT_EQ(shelf().find("token of hall").value(), std::nullopt) << "the token is not its digest";
}

TEST_F(DeviceShelfTest, RevokedDeviceIsListedAndNotKnown) {
    ASSERT_TRUE(shelf().add(a_device("old")));
    ASSERT_TRUE(shelf().add(a_device("new")));
    EXPECT_TRUE(shelf().revoke("old", "marlow", test_now() + 1h).value());
    EXPECT_EQ(find("token of old"), std::nullopt);
    EXPECT_TRUE(find("token of new"));
    EXPECT_THAT(listed(log_.db()), ElementsAre("new tove", "old tove revoked"));
    EXPECT_FALSE(shelf().revoke("nobody", "marlow", test_now()).value());
}

TEST_F(DeviceShelfTest, RevokingAgainKeepsWhoDidItFirst) {
    ASSERT_TRUE(shelf().add(a_device("old")));
    EXPECT_TRUE(shelf().revoke("old", "marlow", test_now() + 1h).value());
    EXPECT_TRUE(shelf().revoke("old", "tove", test_now() + 2h).value());
    EXPECT_EQ(shelf().list().value().at(0).revoked, test_now() + 1h);
    EXPECT_THAT(audited(log_.db()),
                ElementsAre("paired device=old;carer=tove", "unpaired device=old;carer=tove;by=marlow"));
    EXPECT_THAT(check_up(log_.db()).value().faults, testing::IsEmpty());
}

TEST_F(DeviceShelfTest, NeitherTokenNorNameIsInTheAuditTrailAndNoTokenInTheFile) {
    ASSERT_TRUE(shelf().add(a_device("kitchen")));
    for (const AuditRow& row : AuditTrail(log_.db()).rows(0, 10).value())
        EXPECT_EQ(row.detail.find("phone"), std::string::npos);
    log_.close();
    const std::string file = read_file(log_.file());
    EXPECT_NE(file.find("the phone of kitchen"), std::string::npos);
    EXPECT_EQ(file.find("token of kitchen"), std::string::npos);
}

TEST_F(DeviceShelfTest, TheDayOfItsLastUseIsKept) {
    ASSERT_TRUE(shelf().add(a_device("kitchen")));
    ASSERT_TRUE(shelf().note_use("kitchen", "2026-11-02"));
    log_.reopen();
    EXPECT_EQ(shelf().list().value().at(0).seen_on, "2026-11-02");
}

TEST_F(DeviceShelfTest, ExportsHoldNoDevice) {
    log_.accept(a_weight("w1"));
    ASSERT_TRUE(shelf().add(a_device("kitchen")));
    const auto page = bodies(log_.db(), {});
    ASSERT_TRUE(page);
    EXPECT_NE(page->lines.find("weight"), std::string::npos);
    EXPECT_EQ(page->lines.find("kitchen"), std::string::npos);
}

// What was revoked after the backup was made is in it as if it had not been.
TEST_F(DeviceShelfTest, InARestoredLogbookNoDeviceIsLetIn) {
    ASSERT_TRUE(shelf().add(a_device("kitchen")));
    ASSERT_TRUE(shelf().add(a_device("lost")));
    ASSERT_TRUE(shelf().add(a_device("old")));
    ASSERT_TRUE(shelf().revoke("old", "marlow", test_now()));
    TemporaryFolder folder;
    back_up(log_, folder / "backup");
    ASSERT_TRUE(shelf().revoke("lost", "marlow", test_now()));
    log_.close();
    const std::filesystem::path file = file_in(folder.path());
    ASSERT_TRUE(restore(folder / "backup", file, false, later));
    for (int start = 0; start < 2; ++start) {
        const auto db = open(file, later);
        ASSERT_TRUE(db.has_value()) << db.error().detail;
        EXPECT_THAT(listed(**db),
                    ElementsAre("kitchen tove revoked", "lost tove revoked", "old tove revoked"));
        EXPECT_THAT(audited(**db),
                    ElementsAre("paired device=kitchen;carer=tove", "paired device=lost;carer=tove",
                                "paired device=old;carer=tove", "unpaired device=old;carer=tove;by=marlow",
                                "unpaired device=kitchen;carer=tove", "unpaired device=lost;carer=tove"))
            << "once, however often it starts";
        EXPECT_THAT(check_up(**db).value().faults, testing::IsEmpty());
    }
}

TEST_F(DeviceShelfTest, DevicePairedAfterARestoreStays) {
    TemporaryFolder folder;
    back_up(log_, folder / "backup");
    log_.close();
    const std::filesystem::path file = file_in(folder.path());
    ASSERT_TRUE(restore(folder / "backup", file, false, later));
    ASSERT_TRUE(DeviceShelf(*open(file, later).value()).add(a_device("new")));
    EXPECT_THAT(listed(*open(file, later).value()), ElementsAre("new tove"));
}

// The process ends, or the power is cut, in the n-th call of pairing one and revoking another. False when it
// got through before.
bool holds_what_it_said(std::uint64_t n, bool power) {
    SimulatedHome home(n);
    {
        Process now = home.process();
        EXPECT_TRUE(DeviceShelf(now.db()).add(a_device("lost")));
    }
    bool is_paired = false;
    bool is_revoked = false;
    {
        Process now = home.process();
        sim::Faults faults;
        faults.die_at = n;
        home.set_faults(faults);
        is_paired = DeviceShelf(now.db()).add(a_device("new")).has_value();
        is_revoked = DeviceShelf(now.db()).revoke("lost", "marlow", test_now()).has_value();
    }
    home.set_faults({});
    sim::Dice dice(n);
    power ? home.disk.cut_power(dice) : home.disk.kill();
    Process next = home.process();
    EXPECT_TRUE(next.is_open()) << next.error().detail;
    DeviceShelf shelf(next.db());
    const bool is_new_known = shelf.find(sha256("token of new")).value().has_value();
    const bool is_lost_known = shelf.find(sha256("token of lost")).value().has_value();
    EXPECT_TRUE(is_new_known || !is_paired);
    EXPECT_FALSE(is_lost_known && is_revoked);
    const std::size_t rows = 1 + (is_new_known ? 1 : 0) + (is_lost_known ? 0 : 1);
    EXPECT_EQ(audited(next.db()).size(), rows) << "a row for each, in the same commit";
    EXPECT_THAT(check_up(next.db()).value().faults, testing::IsEmpty());
    return !(is_paired && is_revoked);
}

TEST(DeviceShelfPowerTest, WhatWasAnsweredSurvivesAnEndInAnyCall) {
    for (const bool power : {false, true}) {
        std::uint64_t n = 1;
        for (; holds_what_it_said(n, power); ++n)
            ASSERT_FALSE(HasFailure()) << "call " << n << (power ? ", power cut" : ", process ends");
        EXPECT_GT(n, 4U);
    }
}

}  // namespace
}  // namespace nightferry::logbook
