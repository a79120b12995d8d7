// The audit trail: a row for everything, chained.
#include "daemon/logbook/audit.hpp"

#include "tests/daemon/logbook/open_logbook.hpp"

namespace nightferry::logbook {

namespace {

using namespace test;
using testing::ElementsAre;
using testing::HasSubstr;

class AuditTest : public testing::Test {
 protected:
    AuditTest() { log_.share("north", policy_for({"juniper"})); }

    std::vector<AuditRow> rows() { return AuditTrail(log_.db()).rows(0, 1000).value(); }
    // Of the rows behind the policy: "accepted w1 1 inbox for north".
    std::vector<std::string> told() {
        std::vector<std::string> told;
        for (const AuditRow& row : rows()) {
            if (row.number == 1) continue;
            std::string line = row.event;
            if (!row.clinic.empty()) line += " " + row.clinic;
            for (const char* label : {"w1", "w2", "d1"}) {
                if (row.entry == id_of(label).to_string()) line += std::string(" ") + label;
            }
            line += " " + std::to_string(row.revision);
            told.push_back(row.detail.empty() ? line : line + " " + row.detail);
        }
        return told;
    }
    // What is wrong first.
    std::optional<std::string> fault() {
        ChainCheck check;
        for (const AuditRow& row : rows()) {
            if (auto words = check.next(row)) return words;
        }
        return std::nullopt;
    }
    void tamper(const std::string& sql) {
        log_.damage("DROP TRIGGER audit_is_not_changed; DROP TRIGGER audit_is_not_deleted;" + sql);
    }

    OpenLogbook log_;
};

TEST_F(AuditTest, TellsTheWayOfAnEntry) {
    log_.accept(a_weight("w1"));
    log_.take();
    log_.settle(confirmed("w1", 1, "7"));
    log_.accept(amended(a_weight("w1", "19"), "2026-10-12T09:00"));
    log_.take();
    log_.settle(refused("w1", 2, "HTTP 422: the child's name is missing"));
    EXPECT_EQ(log_.outbox().release("north", {}, test_now()).value(), 1);
    log_.take();
    log_.settle(refused("w1", 2));
    EXPECT_TRUE(log_.outbox().close("north", id_of("w1"), "tove", "phoned", test_now()).value());
    log_.accept(a_retraction("w1", "2026-10-12T10:00"), {});
    EXPECT_THAT(told(),
                ElementsAre("accepted w1 1 inbox for north", "sent north w1 1",
                            "confirmed north w1 1 Observation/at-w1/_history/7", "amended w1 2 inbox",
                            "sent north w1 2", "set_aside north w1 2", "released north w1 2",
                            "sent north w1 2", "set_aside north w1 2",
                            // By `printf phoned | sha256sum` of the GNU coreutils.
                            "closed north w1 2 by tove reason sha256:113ce9a419ca858486aaf9d5fc15b0d2c3e59336"
                            "6ae2a2678c18801e1e3f5820",
                            "retracted w1 3 inbox"));
    EXPECT_EQ(fault(), std::nullopt);
}

TEST_F(AuditTest, TellsPoliciesAndWhatFollowsFromThem) {
    entry::SharingTerms terms = policy_for({"juniper"}).terms();
    log_.accept(a_weight("w1"));
    terms.kinds = {entry::Kind::dose_given};
    log_.share("north", entry::SharingPolicy(terms));
    terms.kinds = {entry::Kind::weight};
    log_.share("north", entry::SharingPolicy(terms));
    ASSERT_TRUE(log_.book().back_date("north", instant("2026-10-01T00:00:00Z"), "marlow", test_now()));
    log_.share("south", policy_for({"juniper"}));
    EXPECT_THAT(
        told(),
        ElementsAre("accepted w1 1 inbox for north",
                    "policy north 0 persons=juniper;kinds=dose_given;from=;notes=yes", "withdrawn north w1 1",
                    "policy north 0 persons=juniper;kinds=weight;from=;notes=yes",
                    "policy north 0 persons=juniper;kinds=weight;from=;notes=yes;"
                    "back_to=2026-10-01T00:00:00Z;by=marlow",
                    "back_dated north w1 1",
                    "policy south 0 persons=juniper;kinds=dose_given,dose_not_given,finding,weight,"
                    "vial_opened,summary;from=;notes=yes",
                    "owed south w1 1"));
}

TEST_F(AuditTest, NothingThatAnEntrySaysIsInIt) {
    log_.accept(a_weight("w1", "18.37", "2026-10-12T08:00", R"(,"note":"cried a little")"));
    log_.take();
    log_.settle(refused("w1", 1, "HTTP 422: weight 18.37 looks odd"));
    for (const AuditRow& row : rows()) {
        for (const std::string& field : {row.event, row.clinic, row.entry, row.detail}) {
            EXPECT_THAT(field, testing::Not(HasSubstr("18.37")));
            EXPECT_THAT(field, testing::Not(HasSubstr("cried")));
            EXPECT_THAT(field, testing::Not(HasSubstr("odd")));
        }
    }
}

TEST_F(AuditTest, WhatWasNotStoredIsNotTold) {
    log_.accept(a_weight("w1"));
    log_.accept(a_weight("w1"));
    log_.accept(a_weight("w1", "99"));
    EXPECT_THAT(told(), ElementsAre("accepted w1 1 inbox for north"));
}

TEST_F(AuditTest, RowsCannotBeChangedByAccident) {
    log_.accept(a_weight("w1"));
    EXPECT_FALSE(log_.db().run("UPDATE audit SET detail = 'nothing'").has_value());
    EXPECT_FALSE(log_.db().run("DELETE FROM audit").has_value());
    EXPECT_EQ(rows().size(), 2u);
}

TEST_F(AuditTest, EveryChangedFieldBreaksTheChainAtItsRow) {
    for (const char* label : {"w1", "w2"})
        log_.accept(a_weight(label));
    for (const char* change :
         {"at_us = at_us + 1", "event = 'amended'", "clinic = 'south'", "entry_id = 'x'", "revision = 2",
          "detail = ''", "hash = upper(hash)", "clinic = 'inbox', detail = ' for north'"}) {
        SCOPED_TRACE(change);
        tamper("CREATE TABLE IF NOT EXISTS kept AS SELECT * FROM audit; UPDATE audit SET " +
               std::string(change) + " WHERE number = 2");
        EXPECT_EQ(fault(), "row 2 is not what was written: it, or the row before it, was changed since");
        log_.damage(
            "DELETE FROM audit; INSERT INTO audit SELECT * FROM kept;"
            "CREATE TRIGGER audit_is_not_changed BEFORE UPDATE ON audit BEGIN SELECT 1; END;"
            "CREATE TRIGGER audit_is_not_deleted BEFORE DELETE ON audit BEGIN SELECT 1; END;");
        EXPECT_EQ(fault(), std::nullopt);
    }
}

TEST_F(AuditTest, RowThatIsTakenOutIsMissed) {
    for (const char* label : {"w1", "w2"})
        log_.accept(a_weight(label));
    tamper("DELETE FROM audit WHERE number = 2");
    EXPECT_EQ(fault(), "row 3 follows row 1: what was between them is gone, or the order was changed");
}

TEST_F(AuditTest, RowThatIsTakenOutAndTheOthersMovedUpIsMissed) {
    for (const char* label : {"w1", "w2"})
        log_.accept(a_weight(label));
    tamper("DELETE FROM audit WHERE number = 2; UPDATE audit SET number = 2 WHERE number = 3");
    EXPECT_THAT(fault().value_or(""), HasSubstr("row 2 is not what was written"));
}

// FIPS 180-4 by way of sha256sum(1) of Debian's coreutils:
//   printf '0:,1:1,1:0,6:policy,5:north,0:,1:0,1:x,' | sha256sum
TEST(AuditHashTest, IsTheDocumentedOne) {
    const AuditRow row{1, Instant{}, "policy", "north", "", 0, "x", {}};
    EXPECT_EQ(hash_of("", row), "4051d5d28d46168974d85526dec3692a742b8e78cb4284e95941ad35a584d4b4");
}

TEST(AuditRowsTest, ComeInPages) {
    OpenLogbook log;
    for (const char* label : {"w1", "w2", "w3"})
        log.accept(a_weight(label));
    AuditTrail trail(log.db());
    EXPECT_EQ(trail.rows(0, 2).value().size(), 2u);
    const auto rest = trail.rows(2, 2).value();
    ASSERT_EQ(rest.size(), 1u);
    EXPECT_EQ(rest[0].number, 3);
}

}  // namespace

}  // namespace nightferry::logbook
