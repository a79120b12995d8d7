// What each clinic has still to get.
#include "daemon/logbook/outbox.hpp"

#include "tests/daemon/logbook/open_logbook.hpp"

namespace nightferry::logbook {

namespace {

using namespace test;
using testing::ElementsAre;
using testing::IsEmpty;
using testing::SizeIs;

// A logbook with weights of these labels, all owed to the clinic "north".
struct Filled : OpenLogbook {
    explicit Filled(const std::vector<std::string>& labels) {
        for (const std::string& label : labels)
            accept(a_weight(label));
    }
};

std::vector<EntryId> ids(const std::vector<Parcel>& parcels) {
    std::vector<EntryId> found;
    for (const Parcel& one : parcels)
        found.push_back(one.id);
    return found;
}

std::string counts(OpenLogbook& log) {
    const QueueCounts counts = log.outbox().counts("north").value();
    return std::to_string(counts.waiting) + " waiting, " + std::to_string(counts.confirmed) + " confirmed, " +
           std::to_string(counts.set_aside) + " set aside";
}

Delivery only_delivery(OpenLogbook& log, const std::string& label) {
    return log.record(label).deliveries.at(0);
}

TEST(OutboxTest, TakingMarksUnderWayAndCountsTheAttempt) {
    Filled log({"w1"});
    for (int attempt = 1; attempt <= 3; ++attempt) {
        const auto parcels = log.take();
        ASSERT_THAT(ids(parcels), ElementsAre(id_of("w1")));
        EXPECT_EQ(parcels[0].attempts, attempt);
        EXPECT_EQ(log.delivery("w1"), "under_way for 1");
        EXPECT_EQ(only_delivery(log, "w1").attempts, attempt);
        EXPECT_THAT(log.take(), IsEmpty()) << "nothing is taken twice";
        log.settle(again("w1"));
    }
}

TEST(OutboxTest, ParcelHoldsTheWantedRevisionAndEveryOther) {
    Filled log({"w1"});
    log.accept(amended(a_weight("w1", "18.6"), "2026-10-12T10:00"));
    log.accept(amended(a_weight("w1", "18.5"), "2026-10-12T09:00"));
    const auto parcels = log.take();
    ASSERT_THAT(parcels, SizeIs(1));
    EXPECT_EQ(parcels[0].wanted.revision, 2);
    ASSERT_THAT(parcels[0].earlier, SizeIs(2));
    EXPECT_EQ(parcels[0].earlier[0].revision, 1);
    EXPECT_EQ(parcels[0].earlier[1].revision, 3);
    EXPECT_FALSE(parcels[0].receipt.has_value());
    EXPECT_FALSE(parcels[0].outcome_unknown);
}

TEST(OutboxTest, LongestWaitingGoFirstUpToTheLimit) {
    Filled log({"w3", "w1", "w2"});
    EXPECT_THAT(ids(log.take(2)), ElementsAre(id_of("w3"), id_of("w1")));
    EXPECT_THAT(ids(log.take(2)), ElementsAre(id_of("w2")));
}

TEST(OutboxTest, PersonsLeftOutKeepWaitingAndTakeNoRoom) {
    OpenLogbook log;
    const auto of = [](const std::string& person, const std::string& label) {
        entry::Submission weight = a_weight(label);
        weight.entry->person = person;
        return weight;
    };
    for (const char* label : {"r1", "r2", "r3"})
        log.accept(of("rowan", label));
    log.accept(of("sorrel", "s1"));
    log.accept(a_weight("w1"));
    const auto take_without = [&](const std::vector<std::string>& persons) {
        return ids(log.outbox().take("north", {2, 0, persons}, test_now()).value());
    };
    EXPECT_THAT(take_without({"rowan", "sorrel"}), ElementsAre(id_of("w1")));
    EXPECT_THAT(take_without({"rowan", "sorrel"}), IsEmpty());
    EXPECT_EQ(log.delivery("r1"), "waiting for 1");
    EXPECT_EQ(only_delivery(log, "r1").attempts, 0);
    EXPECT_THAT(take_without({"rowan"}), ElementsAre(id_of("s1")));
    EXPECT_THAT(take_without({}), ElementsAre(id_of("r1"), id_of("r2")));
}

TEST(OutboxTest, ClinicsHaveQueuesOfTheirOwn) {
    OpenLogbook log;
    log.accept(a_weight("w1"), {"north", "south"});
    log.take();
    log.settle(confirmed("w1"));
    EXPECT_EQ(log.delivery("w1", "south"), "waiting for 1");
    EXPECT_THAT(ids(log.outbox().take("south", {.limit = 10}, test_now()).value()), ElementsAre(id_of("w1")));
    EXPECT_THAT(log.outbox().take("west", {.limit = 10}, test_now()).value(), IsEmpty());
    EXPECT_EQ(log.outbox().counts("west").value().waiting, 0);
}

TEST(OutboxTest, ConfirmedIsOutOfTheQueueAndItsReceiptIsKeptForGood) {
    Filled log({"w1"});
    log.take();
    log.settle(confirmed("w1", 1, "3"));
    EXPECT_THAT(log.take(), IsEmpty());
    log.reopen();
    const auto receipts = only_delivery(log, "w1").receipts;
    ASSERT_THAT(receipts, SizeIs(1));
    EXPECT_EQ(receipts[0].revision, 1);
    EXPECT_EQ(receipts[0].resource_type, "Observation");
    EXPECT_EQ(receipts[0].resource_id, "at-w1");
    EXPECT_EQ(receipts[0].version_id, "3");
    EXPECT_EQ(receipts[0].http_status, 201);
    EXPECT_EQ(receipts[0].received, test_now());
}

TEST(OutboxTest, ParcelOfAnAmendedEntryBringsTheNewestReceipt) {
    Filled log({"w1"});
    log.take();
    Settlement first = confirmed("w1", 1, "1");
    first.receipt->received -= std::chrono::hours{1};
    log.settle(first);
    log.accept(amended(a_weight("w1", "19"), "2026-10-12T09:00"));
    log.take();
    log.settle(confirmed("w1", 2, "2"));
    log.accept(a_retraction("w1", "2026-10-12T10:00"), {});
    const auto parcels = log.take();
    ASSERT_THAT(parcels, SizeIs(1));
    ASSERT_TRUE(parcels[0].receipt.has_value());
    EXPECT_EQ(parcels[0].receipt->revision, 2);
    EXPECT_EQ(parcels[0].receipt->version_id, "2");
    EXPECT_THAT(only_delivery(log, "w1").receipts, SizeIs(2));
}

TEST(OutboxTest, UnansweredAttemptIsRememberedUntilADefiniteAnswer) {
    Filled log({"w1"});
    log.take();
    Settlement unanswered = again("w1");
    unanswered.outcome_unknown = true;
    log.settle(unanswered);
    EXPECT_TRUE(log.take().at(0).outcome_unknown);
    log.settle(again("w1"));
    EXPECT_TRUE(log.take().at(0).outcome_unknown) << "a failure before sending answers nothing";
    log.settle(confirmed("w1", 1));
    log.accept(amended(a_weight("w1", "18.6"), "2026-10-12T09:00"));
    EXPECT_FALSE(log.take().at(0).outcome_unknown);
}

TEST(OutboxTest, WhatWasSetAsideIsInDoubtWhenItIsSentOnceMore) {
    Filled log({"w1"});
    log.take();
    log.settle(refused("w1"));
    EXPECT_EQ(log.outbox().release("north", {}, test_now()).value(), 1);
    EXPECT_TRUE(log.take().at(0).outcome_unknown) << "why it was set aside may be that nobody could tell";
}

TEST(OutboxTest, SetAsideKeepsTheClinicsWordsAndIsNotTaken) {
    Filled log({"w1"});
    log.take();
    log.settle(refused("w1", 1, "HTTP 422, the clinic says: no such unit"));
    EXPECT_THAT(log.take(), IsEmpty());
    EXPECT_EQ(only_delivery(log, "w1").state, DeliveryState::set_aside);
    EXPECT_EQ(only_delivery(log, "w1").words, "HTTP 422, the clinic says: no such unit");
}

TEST(OutboxTest, AmendmentWhileUnderWayWaitsWhateverWasSettled) {
    Filled log({"arrived", "refused", "again"});
    log.take();
    for (const char* label : {"arrived", "refused", "again"})
        log.accept(amended(a_weight(label, "19"), "2026-10-12T09:00"));
    log.settle(confirmed("arrived"));
    log.settle(refused("refused"));
    log.settle(again("again"));
    for (const char* label : {"arrived", "refused", "again"})
        EXPECT_EQ(log.delivery(label), "waiting for 2");
    const auto parcels = log.take();
    ASSERT_THAT(ids(parcels), ElementsAre(id_of("arrived"), id_of("refused"), id_of("again")));
    EXPECT_TRUE(parcels[0].receipt.has_value()) << "the receipt of the old revision counts all the same";
    EXPECT_EQ(parcels[0].wanted.revision, 2);
    EXPECT_FALSE(parcels[0].outcome_unknown);
    EXPECT_TRUE(parcels[1].outcome_unknown) << "what the older one was set aside for concerns this, too";
    EXPECT_FALSE(parcels[2].outcome_unknown);
}

TEST(OutboxTest, SentToTheBackLetsTheOthersGoFirst) {
    Filled log({"w1", "w2", "w3"});
    log.take(1);
    Settlement back = again("w1");
    back.to_the_back = true;
    log.settle(back);
    EXPECT_THAT(ids(log.take()), ElementsAre(id_of("w2"), id_of("w3"), id_of("w1")));
}

TEST(OutboxTest, SeveralSettlementsAndTheClinicsStateAreOneCommit) {
    Filled log({"w1", "w2", "w3"});
    log.take();
    ClinicState state;
    state.pass_confirmed = 2;
    const std::vector<Settlement> all{confirmed("w1"), confirmed("w2"), refused("w3")};
    ASSERT_TRUE(log.outbox().settle("north", all, state, test_now()).has_value());
    EXPECT_EQ(counts(log), "0 waiting, 2 confirmed, 1 set aside");
    EXPECT_EQ(log.outbox().state("north").value().pass_confirmed, 2);
}

TEST(OutboxTest, WhatWasReleasedOrLostIsOwedFromThenOn) {
    OpenLogbook log;
    const Instant recorded = test_now() - std::chrono::days{10};
    log.accept({arrival(a_weight("w1"))}, recorded);
    log.take();
    log.settle(refused("w1"));
    ASSERT_EQ(log.outbox().release("north", {}, test_now()).value(), 1);
    EXPECT_EQ(log.outbox().counts("north").value().oldest_waiting, test_now());
    log.take();
    log.settle(confirmed("w1"));
    Settlement lost;
    lost.id = id_of("w1");
    lost.revision = 1;
    lost.lost = true;
    const Instant found = test_now() + std::chrono::days{3};
    for (const std::chrono::hours later : {std::chrono::hours{0}, std::chrono::hours{24}}) {
        ASSERT_TRUE(log.outbox().settle("north", std::vector{lost}, {}, found + later));
        EXPECT_EQ(log.outbox().counts("north").value().oldest_waiting, found);
    }
}

TEST(OutboxTest, CountsTellTheQueueAndWhenItsOldestWasAccepted) {
    OpenLogbook log;
    EXPECT_FALSE(log.outbox().counts("north").value().oldest_waiting.has_value());
    const Instant first = instant("2026-10-12T08:00Z");
    const Instant second = instant("2026-10-13T08:00Z");
    log.accept({arrival(a_weight("w1"))}, first);
    log.accept({arrival(a_weight("w2")), arrival(a_weight("w3"))}, second);
    log.take(1);
    EXPECT_EQ(counts(log), "3 waiting, 0 confirmed, 0 set aside");
    EXPECT_EQ(log.outbox().counts("north").value().oldest_waiting, first);
    log.settle(confirmed("w1"));
    EXPECT_EQ(counts(log), "2 waiting, 1 confirmed, 0 set aside");
    EXPECT_EQ(log.outbox().counts("north").value().oldest_waiting, second);
}

TEST(OutboxTest, WhatWasAmendedWaitsSinceItsAmendmentWasAccepted) {
    OpenLogbook log;
    const Instant first = instant("2026-10-12T08:00Z");
    const Instant second = instant("2026-10-13T08:00Z");
    log.accept({arrival(a_weight("w1"))}, first);
    log.accept({arrival(amended(a_weight("w1"), "2026-10-12T09:00"))}, second);
    EXPECT_EQ(counts(log), "1 waiting, 0 confirmed, 0 set aside");
    EXPECT_EQ(log.outbox().counts("north").value().oldest_waiting, second);
    log.take();
    log.settle(refused("w1", 2, "no"));
    EXPECT_EQ(counts(log), "0 waiting, 0 confirmed, 1 set aside");
    EXPECT_FALSE(log.outbox().counts("north").value().oldest_waiting.has_value());
}

TEST(OutboxTest, DeliveriesAreListedByState) {
    Filled log({"w1", "w2", "w3", "w4"});
    log.take(3);
    log.settle(confirmed("w1"));
    log.settle(refused("w2"));
    const auto labels_in = [&](DeliveryState state, std::size_t limit = 10) {
        std::vector<EntryId> found;
        for (const Delivery& one : log.outbox().in_state("north", state, limit).value())
            found.push_back(one.id);
        return found;
    };
    EXPECT_THAT(labels_in(DeliveryState::confirmed), ElementsAre(id_of("w1")));
    EXPECT_THAT(labels_in(DeliveryState::set_aside), ElementsAre(id_of("w2")));
    EXPECT_THAT(labels_in(DeliveryState::under_way), ElementsAre(id_of("w3")));
    EXPECT_THAT(labels_in(DeliveryState::waiting), ElementsAre(id_of("w4")));
    log.settle(again("w3"));
    EXPECT_THAT(labels_in(DeliveryState::waiting, 1), ElementsAre(id_of("w3")));
}

TEST(OutboxTest, ReleaseSendsOneOrAllOfWhatWasSetAside) {
    Filled log({"w1", "w2", "w3", "w4"});
    log.take(3);
    for (const char* label : {"w1", "w2", "w3"})
        log.settle(refused(label));
    EXPECT_EQ(log.outbox().release("north", id_of("w2"), test_now()).value(), 1);
    EXPECT_EQ(log.outbox().release("north", id_of("w2"), test_now()).value(), 0);
    EXPECT_EQ(log.outbox().release("north", id_of("w4"), test_now()).value(), 0) << "it was never set aside";
    EXPECT_EQ(log.outbox().release("south", {}, test_now()).value(), 0);
    EXPECT_EQ(log.delivery("w2"), "waiting for 1");
    EXPECT_EQ(log.outbox().release("north", {}, test_now()).value(), 2);
    EXPECT_EQ(counts(log), "4 waiting, 0 confirmed, 0 set aside");
    EXPECT_EQ(log.take().at(0).attempts, 2) << "earlier attempts still count";
}

// A carer closes it; false when it was not set aside.
bool close(OpenLogbook& log, const std::string& label, const std::string& clinic = "north") {
    return log.outbox().close(clinic, id_of(label), "tove", "they keep theirs", test_now()).value();
}

TEST(OutboxTest, ClosedIsOutOfTheWayAndKeepsWhoWhenAndWhy) {
    Filled log({"w1", "w2"});
    log.take();
    log.settle(refused("w1", 1, "changed there"));
    log.settle(refused("w2"));
    EXPECT_TRUE(close(log, "w1"));
    log.reopen();
    EXPECT_EQ(counts(log), "0 waiting, 0 confirmed, 1 set aside");
    EXPECT_EQ(log.outbox().counts("north").value().closed, 1);
    EXPECT_THAT(log.take(), IsEmpty());
    EXPECT_EQ(log.outbox().release("north", id_of("w1"), test_now()).value(), 0);
    EXPECT_EQ(log.outbox().release("north", {}, test_now()).value(), 1) << "the other one";
    const Delivery closed = only_delivery(log, "w1");
    EXPECT_EQ(closed.state, DeliveryState::closed);
    EXPECT_EQ(closed.words, "changed there");
    ASSERT_THAT(closed.closings, SizeIs(1));
    EXPECT_EQ(closed.closings[0].revision, 1);
    EXPECT_EQ(closed.closings[0].at, test_now());
    EXPECT_EQ(closed.closings[0].by, "tove");
    EXPECT_EQ(closed.closings[0].reason, "they keep theirs");
}

TEST(OutboxTest, OnlyWhatIsSetAsideCanBeClosed) {
    Filled log({"confirmed", "under_way", "waiting", "set_aside"});
    log.take(2);
    log.settle(confirmed("confirmed"));
    for (const char* label : {"confirmed", "under_way", "waiting", "set_aside", "unheard_of"})
        EXPECT_FALSE(close(log, label)) << label;
    EXPECT_EQ(counts(log), "3 waiting, 1 confirmed, 0 set aside");
    log.take();
    log.settle(refused("set_aside"));
    EXPECT_FALSE(close(log, "set_aside", "south"));
    EXPECT_TRUE(close(log, "set_aside"));
    EXPECT_FALSE(close(log, "set_aside")) << "a second time";
    EXPECT_THAT(only_delivery(log, "set_aside").closings, SizeIs(1));
}

TEST(OutboxTest, OnlyALaterRevisionOpensWhatWasClosed) {
    Filled log({"amended", "retracted"});
    log.accept(amended(a_weight("amended", "19"), "2026-10-12T09:00"));
    log.take();
    log.settle(refused("amended", 2));
    log.settle(refused("retracted"));
    EXPECT_TRUE(close(log, "amended"));
    EXPECT_TRUE(close(log, "retracted"));
    log.accept(amended(a_weight("amended", "18.9"), "2026-10-12T08:30"));
    EXPECT_EQ(log.delivery("amended"), "closed for 2") << "an older amendment is not in effect";
    log.accept(amended(a_weight("amended", "20"), "2026-10-12T10:00"));
    log.accept(a_retraction("retracted", "2026-10-12T10:00"), {});
    EXPECT_EQ(log.delivery("amended"), "waiting for 4");
    EXPECT_EQ(log.delivery("retracted"), "waiting for 2");
    EXPECT_THAT(ids(log.take()), ElementsAre(id_of("amended"), id_of("retracted")));
    log.settle(refused("amended", 4));
    EXPECT_TRUE(close(log, "amended"));
    const auto closings = only_delivery(log, "amended").closings;
    ASSERT_THAT(closings, SizeIs(2));
    EXPECT_EQ(closings[0].revision, 2);
    EXPECT_EQ(closings[1].revision, 4);
}

TEST(OutboxTest, FindingBringsTheReceiptOfItsDose) {
    OpenLogbook log;
    log.accept(a_dose("d1"));
    log.accept(a_bruise("b1", "d1"));
    auto parcels = log.take();
    ASSERT_THAT(ids(parcels), ElementsAre(id_of("d1"), id_of("b1")));
    EXPECT_FALSE(parcels[1].dose_receipt.has_value());
    log.settle(confirmed("d1"));
    log.settle(again("b1"));
    parcels = log.take();
    ASSERT_THAT(ids(parcels), ElementsAre(id_of("b1")));
    ASSERT_TRUE(parcels[0].dose_receipt.has_value());
    EXPECT_EQ(parcels[0].dose_receipt->resource_id, "at-d1");
    EXPECT_FALSE(parcels[0].receipt.has_value());
}

TEST(OutboxTest, DoseReceiptOfAnotherClinicDoesNotCount) {
    OpenLogbook log;
    log.accept(a_dose("d1"), {"north", "south"});
    log.accept(a_bruise("b1", "d1"), {"south"});
    log.take();
    log.settle(confirmed("d1"));
    for (const Parcel& parcel : log.outbox().take("south", {.limit = 10}, test_now()).value())
        EXPECT_FALSE(parcel.dose_receipt.has_value());
}

TEST(OutboxTest, StateOfAClinicIsKeptAsItWasSettled) {
    OpenLogbook log;
    EXPECT_EQ(log.outbox().state("north").value().pass_started, Instant{});
    const ClinicState state{
        3,
        instant("2026-10-12T08:00:01.000001Z"),
        instant("2026-10-12T02:00Z"),
        instant("2026-10-12T02:01Z"),
        PassResult::out_of_time,
        17,
        2,
        "HTTP 503 unavailable",
        std::chrono::minutes{-7},
        true,
        true,
        true,
        {{"juniper", {"numbers|T-1", "Patient/5"}},
         {"rowan",
          {"numbers|T-2", "Patient/6", "it was replaced", test_now() - std::chrono::hours{9}, "Patient/6"}}}};
    ASSERT_TRUE(log.outbox().settle("north", {}, state, test_now()).has_value());
    log.reopen();
    const ClinicState kept = log.outbox().state("north").value();
    EXPECT_EQ(kept.failures, state.failures);
    EXPECT_EQ(kept.not_before, state.not_before);
    EXPECT_EQ(kept.pass_started, state.pass_started);
    EXPECT_EQ(kept.pass_ended, state.pass_ended);
    EXPECT_EQ(kept.pass_result, PassResult::out_of_time);
    EXPECT_EQ(kept.pass_confirmed, state.pass_confirmed);
    EXPECT_EQ(kept.pass_set_aside, state.pass_set_aside);
    EXPECT_EQ(kept.words, state.words);
    EXPECT_EQ(kept.skew, state.skew);
    EXPECT_TRUE(kept.unguarded);
    EXPECT_TRUE(kept.provenance_apart);
    EXPECT_TRUE(kept.knows_conditions);
    EXPECT_EQ(kept.patients, state.patients);
    EXPECT_FALSE(log.outbox().state("south").value().unguarded);
    EXPECT_FALSE(log.outbox().state("south").value().pass_result);
    EXPECT_EQ(log.outbox().state("south").value().failures, 0);
    EXPECT_TRUE(log.outbox().state("south").value().patients.empty());
}

TEST(OutboxTest, UnreadableEntryIsSetAsideAndDoesNotHoldUpTheRest) {
    Filled log({"torn", "w2"});
    log.damage("UPDATE revisions SET body = 'torn' WHERE entry_id = '" + id_of("torn").to_string() + "'");
    EXPECT_THAT(ids(log.take(1)), ElementsAre(id_of("w2"))) << "also when it fills the whole limit";
    EXPECT_EQ(counts(log), "1 waiting, 0 confirmed, 1 set aside");
    const auto aside = log.outbox().in_state("north", DeliveryState::set_aside, 10).value();
    ASSERT_THAT(aside, SizeIs(1));
    EXPECT_EQ(aside[0].id, id_of("torn"));
    EXPECT_THAT(aside[0].words, testing::Not(IsEmpty()));
}

TEST(OutboxTest, OnlyUnreadableEntriesLeftAreNothingToTake) {
    Filled log({"w1", "w2", "w3"});
    log.damage("UPDATE revisions SET body = '{\"action\":\"record\"}'");
    EXPECT_THAT(log.take(1), IsEmpty());
    EXPECT_EQ(counts(log), "0 waiting, 0 confirmed, 3 set aside");
}

}  // namespace

}  // namespace nightferry::logbook
