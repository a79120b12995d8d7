// What a clinic has confirmed, brought back to be compared with what it holds, and in which order it came
// there.
#include <limits>

#include "tests/daemon/logbook/open_logbook.hpp"

namespace nightferry::logbook {

namespace {

using namespace test;
using testing::ElementsAre;
using testing::IsEmpty;
using testing::SizeIs;
using Written = Receipt::Written;

constexpr std::int64_t newest = std::numeric_limits<std::int64_t>::max();

class RecallTest : public testing::Test {
 protected:
    void accept(std::initializer_list<const char*> labels) {
        for (const char* label : labels)
            log_.accept(a_weight(label));
    }
    void confirm(const std::string& label, std::int64_t revision = 1, Written written = Written::just_now) {
        Settlement settlement = confirmed(label, revision);
        settlement.receipt->written = written;
        log_.settle(settlement);
    }
    std::vector<Parcel> recall(std::int64_t below = newest, std::size_t limit = 10) {
        return log_.outbox().recall("north", below, limit).value();
    }
    std::vector<EntryId> recalled(std::int64_t below = newest, std::size_t limit = 10) {
        std::vector<EntryId> ids;
        for (const Parcel& one : recall(below, limit))
            ids.push_back(one.id);
        return ids;
    }
    Receipt receipt(const std::string& label) { return log_.record(label).deliveries.at(0).receipts.back(); }

    OpenLogbook log_;
};

TEST_F(RecallTest, ConfirmedOnesComeBackTheNewestReceiptFirst) {
    accept({"w1", "w2", "w3"});
    log_.take();
    for (const char* label : {"w3", "w1", "w2"})
        confirm(label);
    EXPECT_THAT(recalled(), ElementsAre(id_of("w2"), id_of("w1"), id_of("w3")));
    EXPECT_THAT(recalled(newest, 2), ElementsAre(id_of("w2"), id_of("w1")));
    EXPECT_THAT(recalled(2), ElementsAre(id_of("w3")));
    EXPECT_THAT(recalled(1), IsEmpty());
}

TEST_F(RecallTest, TheyBringWhatComparingNeeds) {
    accept({"w1"});
    log_.accept(amended(a_weight("w1", "19"), "2026-10-12T09:00"));
    log_.take();
    confirm("w1", 2);
    const auto parcels = recall();
    ASSERT_THAT(parcels, SizeIs(1));
    EXPECT_EQ(parcels[0].wanted.revision, 2);
    EXPECT_THAT(parcels[0].earlier, SizeIs(1));
    EXPECT_EQ(parcels[0].receipt.value().resource_id, "at-w1");
    EXPECT_EQ(parcels[0].receipt->number, 1);
    EXPECT_FALSE(parcels[0].lost);
}

TEST_F(RecallTest, RecallingChangesNothing) {
    accept({"w1"});
    log_.take();
    confirm("w1");
    recall();
    EXPECT_EQ(log_.delivery("w1"), "confirmed for 1");
    EXPECT_EQ(log_.record("w1").deliveries.at(0).attempts, 1);
}

TEST_F(RecallTest, WhatWaitsWithALaterRevisionIsRecalledWithIt) {
    accept({"w1"});
    log_.take();
    confirm("w1");
    log_.accept(amended(a_weight("w1", "19"), "2026-10-12T09:00"));
    const auto parcels = recall();
    ASSERT_THAT(parcels, SizeIs(1));
    EXPECT_EQ(parcels[0].wanted.revision, 2);
    EXPECT_EQ(parcels[0].receipt.value().revision, 1);
}

// What is withdrawn may be owed again, and then it has to be known whether the clinic has lost it meanwhile.
TEST_F(RecallTest, WhatIsNotSharedAnyMoreIsRecalledAsWithheld) {
    accept({"w1", "w2"});
    log_.take();
    confirm("w1");
    confirm("w2");
    log_.share("north", policy_for({}), test_now());
    log_.accept(amended(a_weight("w2", "19"), "2026-10-12T09:00"));
    EXPECT_EQ(log_.delivery("w1"), "confirmed for 1");
    EXPECT_EQ(log_.delivery("w2"), "withdrawn for 2");
    const auto parcels = recall();
    ASSERT_THAT(parcels, SizeIs(2));
    for (const Parcel& one : parcels)
        EXPECT_TRUE(one.withheld);
}

TEST_F(RecallTest, WhatTheClinicLostIsRememberedAlsoWhereItIsNotSentAgain) {
    accept({"w1"});
    log_.take();
    confirm("w1");
    log_.share("north", policy_for({}), test_now());
    Settlement lost = again("w1");
    lost.lost = true;
    log_.settle(lost);
    EXPECT_THAT(log_.take(), IsEmpty());
    EXPECT_EQ(log_.delivery("w1"), "withdrawn for 1");
    log_.share("north", policy_for({"juniper"}), test_now());
    ASSERT_TRUE(log_.book().back_date("north", instant("2026-10-01T00:00:00Z"), "marlow", test_now()));
    const auto parcels = log_.take();
    ASSERT_THAT(parcels, SizeIs(1));
    EXPECT_TRUE(parcels[0].lost);
}

TEST_F(RecallTest, WhatAwaitsAPersonOrItsAnswerIsNotRecalled) {
    accept({"aside", "under_way", "never_sent"});
    log_.take(2);
    for (const char* label : {"aside", "under_way"}) {
        confirm(label);
        log_.accept(amended(a_weight(label, "19"), "2026-10-12T09:00"));
    }
    log_.take();
    log_.settle(refused("aside", 2));
    EXPECT_THAT(recalled(), IsEmpty());
}

TEST_F(RecallTest, OnlyTheNewestReceiptOfAnEntryCounts) {
    accept({"w1", "w2"});
    log_.take();
    confirm("w1");
    confirm("w2");
    log_.accept(amended(a_weight("w1", "19"), "2026-10-12T09:00"));
    log_.take();
    confirm("w1", 2);
    EXPECT_THAT(recalled(), ElementsAre(id_of("w1"), id_of("w2")));
    EXPECT_THAT(recalled(3), ElementsAre(id_of("w2"))) << "the first receipt of w1 was replaced";
}

TEST_F(RecallTest, ClinicsCountTheirOwnReceipts) {
    log_.accept(a_weight("w1"), {"north", "south"});
    log_.accept(a_weight("w2"), {"south"});
    log_.take();
    confirm("w1");
    ASSERT_TRUE(log_.outbox().take("south", {.limit = 10}, test_now()).has_value());
    ASSERT_TRUE(log_.outbox().settle("south", std::vector{confirmed("w2")}, {}, test_now()).has_value());
    EXPECT_EQ(receipt("w2").number, 1);
    EXPECT_THAT(recalled(), ElementsAre(id_of("w1")));
}

TEST_F(RecallTest, WhatCannotBeReadAnyMoreIsLeftOut) {
    accept({"torn", "w2"});
    log_.take();
    confirm("torn");
    confirm("w2");
    log_.damage("UPDATE revisions SET body = 'torn' WHERE entry_id = '" + id_of("torn").to_string() + "'");
    EXPECT_THAT(recalled(), ElementsAre(id_of("w2")));
}

TEST_F(RecallTest, ReceiptsAreNumberedAndSayAfterWhichTheyWereWritten) {
    accept({"w1", "w2", "w3"});
    log_.take();
    confirm("w1");
    confirm("w2");
    confirm("w3");
    log_.reopen();
    EXPECT_EQ(receipt("w3").number, 3);
    EXPECT_EQ(receipt("w3").written_after, 2);
    EXPECT_EQ(receipt("w1").number, 1);
    EXPECT_EQ(receipt("w1").written_after, 0);
}

// Its answer was lost and it was found there later: it came there some time since it was tried first.
TEST_F(RecallTest, WhatWasFoundAfterAnUnansweredTryWasWrittenSinceThatTry) {
    accept({"first", "w1"});
    log_.take(1);
    confirm("first");
    log_.take();
    Settlement unanswered = again("w1");
    unanswered.outcome_unknown = true;
    log_.settle(unanswered);
    accept({"w2", "w3"});
    log_.take();
    confirm("w2");
    confirm("w3");
    log_.settle(unanswered);
    log_.take();
    confirm("w1", 1, Written::since_the_first_try);
    EXPECT_EQ(receipt("w1").number, 4);
    EXPECT_EQ(receipt("w1").written_after, 1);
}

TEST_F(RecallTest, TryThatCertainlyDidNotArriveDoesNotCount) {
    accept({"w1", "w2"});
    log_.take();
    log_.settle(again("w1"));
    confirm("w2");
    log_.take();
    confirm("w1", 1, Written::since_the_first_try);
    EXPECT_EQ(receipt("w1").written_after, 1);
}

TEST_F(RecallTest, WhatMayHaveBeenThereAllAlongProvesNothing) {
    accept({"w1", "w2"});
    log_.take();
    confirm("w1");
    confirm("w2", 1, Written::at_any_time);
    EXPECT_EQ(receipt("w2").number, 2);
    EXPECT_EQ(receipt("w2").written_after, 0);
}

TEST_F(RecallTest, WhatAClinicLostIsTakenAsLostWithItsReceipt) {
    accept({"w1"});
    log_.take();
    confirm("w1");
    Settlement lost = again("w1");
    lost.lost = true;
    lost.outcome_unknown = true;
    log_.settle(lost);
    log_.reopen();
    EXPECT_EQ(log_.delivery("w1"), "waiting for 1");
    EXPECT_TRUE(recall().at(0).lost);
    const auto parcels = log_.take();
    ASSERT_THAT(parcels, SizeIs(1));
    EXPECT_TRUE(parcels[0].lost);
    EXPECT_TRUE(parcels[0].outcome_unknown);
    EXPECT_TRUE(parcels[0].receipt.has_value());
}

TEST_F(RecallTest, WhatIsConfirmedAnewIsNoLongerLostAndHasANewNumber) {
    accept({"w1", "w2"});
    log_.take();
    confirm("w1");
    confirm("w2");
    Settlement lost = again("w1");
    lost.lost = true;
    log_.settle(lost);
    log_.take();
    confirm("w1");
    EXPECT_EQ(receipt("w1").number, 3);
    EXPECT_THAT(log_.record("w1").deliveries.at(0).receipts, SizeIs(1));
    EXPECT_THAT(recalled(), ElementsAre(id_of("w1"), id_of("w2")));
    EXPECT_FALSE(recall().at(0).lost);
}

}  // namespace

}  // namespace nightferry::logbook
