// The store of entries: what is taken in, found again, and owed to the clinics.
#include "daemon/logbook/logbook.hpp"

#include "tests/daemon/logbook/open_logbook.hpp"

namespace nightferry::logbook {

namespace {

using namespace test;
using testing::ElementsAre;
using Kind = Verdict::Kind;

// A weight of somebody the household of the other tests does not know.
entry::Submission weight_of(const std::string& person, const std::string& label) {
    entry::Submission submission = a_weight(label);
    submission.entry->person = person;
    return submission;
}

std::vector<EntryId> ids(const Result<Listing>& records) {
    std::vector<EntryId> found;
    for (const EntryRecord& one : records.value().records)
        found.push_back(one.current.content.id);
    return found;
}

std::string kg_of(const entry::Version& version) {
    return std::get<entry::Weight>(version.content.what).kg.to_string();
}

TEST(LogbookTest, VerdictsComeInTheOrderOfTheArrivals) {
    OpenLogbook log;
    const auto verdicts =
        log.accept({arrival(a_weight("w1")), arrival(a_weight("w1")), arrival(a_weight("w1", "19")),
                    arrival(amended(a_weight("w1", "19"), "2026-10-12T09:00")), arrival(a_weight("w2")),
                    arrival(a_retraction("w9", "2026-10-12T09:00"))});
    std::vector<std::pair<Kind, std::int64_t>> found;
    for (const Verdict& one : verdicts)
        found.emplace_back(one.kind, one.revision);
    EXPECT_THAT(found, ElementsAre(std::pair(Kind::add, 1), std::pair(Kind::already_there, 1),
                                   std::pair(Kind::conflict, 0), std::pair(Kind::add, 2),
                                   std::pair(Kind::add, 1), std::pair(Kind::conflict, 0)));
}

TEST(LogbookTest, ArrivalsAreStoredAllOrNone) {
    OpenLogbook log;
    log.accept(a_weight("w1"));
    log.damage(
        "CREATE TRIGGER no_second BEFORE INSERT ON revisions WHEN NEW.revision = 2 "
        "BEGIN SELECT RAISE(ABORT, 'the disk failed'); END");
    const auto verdicts = log.book().accept(
        std::vector{arrival(a_weight("w2")), arrival(amended(a_weight("w1"), "2026-10-12T09:00"))},
        test_now());
    ASSERT_FALSE(verdicts.has_value());
    EXPECT_EQ(verdicts.error().code, Errc::storage);
    EXPECT_FALSE(log.book().find(id_of("w2")).value().has_value());
}

TEST(LogbookTest, AnUnreadableEntryStandsInNobodysWay) {
    OpenLogbook log;
    log.accept(a_weight("w1"));
    log.damage("UPDATE revisions SET body = 'torn'");
    const auto verdicts = log.book().accept(
        std::vector{arrival(a_weight("w2")), arrival(amended(a_weight("w1"), "2026-10-12T09:00"))},
        test_now());
    ASSERT_TRUE(verdicts.has_value());
    EXPECT_EQ(verdicts->at(0).kind, Verdict::Kind::add);
    EXPECT_EQ(verdicts->at(1).kind, Verdict::Kind::conflict);
    const Listing listing = log.book().list({}).value();
    EXPECT_EQ(listing.records.size(), 1U);
    EXPECT_EQ(listing.unreadable, std::vector{id_of("w1")});
}

TEST(LogbookTest, HandingInNothingIsNoError) {
    OpenLogbook log;
    EXPECT_TRUE(log.accept(std::vector<Arrival>()).empty());
}

TEST(LogbookTest, ReSendingLeavesAConfirmedDeliveryConfirmed) {
    OpenLogbook log;
    log.accept(a_weight("w1"));
    log.take();
    log.settle(confirmed("w1"));
    EXPECT_EQ(log.accept(a_weight("w1", "18.40")).kind, Kind::already_there);
    EXPECT_EQ(log.delivery("w1"), "confirmed for 1");
    EXPECT_THAT(log.record("w1").revisions, testing::SizeIs(1));
}

TEST(LogbookTest, EveryClinicThatMayHaveAnEntryIsOwedIt) {
    OpenLogbook log;
    log.accept(a_weight("w1"), {"north", "south"});
    log.accept(a_weight("w2"), {});
    EXPECT_EQ(log.delivery("w1", "north"), "waiting for 1");
    EXPECT_EQ(log.delivery("w1", "south"), "waiting for 1");
    EXPECT_EQ(log.delivery("w2", "north"), "none");
}

TEST(LogbookTest, AmendmentIsWantedWhateverBecameOfTheRevisionBefore) {
    OpenLogbook log;
    for (const char* label : {"waits", "goes", "arrived", "refused"})
        log.accept(a_weight(label));
    log.take();
    log.settle(again("waits"));
    log.settle(confirmed("arrived"));
    log.settle(refused("refused"));
    for (const char* label : {"waits", "goes", "arrived", "refused"})
        log.accept(amended(a_weight(label, "19"), "2026-10-12T09:00"));
    EXPECT_EQ(log.delivery("waits"), "waiting for 2");
    EXPECT_EQ(log.delivery("goes"), "under_way for 2");
    EXPECT_EQ(log.delivery("arrived"), "waiting for 2");
    EXPECT_EQ(log.delivery("refused"), "waiting for 2");
}

TEST(LogbookTest, RetractionReachesEveryClinicThatWasOwedTheEntry) {
    OpenLogbook log;
    log.accept(a_weight("w1"), {"north", "south"});
    log.take();
    log.settle(confirmed("w1"));
    log.accept(a_retraction("w1", "2026-10-12T09:00"), {});
    EXPECT_EQ(log.delivery("w1", "north"), "waiting for 2");
    EXPECT_EQ(log.delivery("w1", "south"), "waiting for 2");
}

TEST(LogbookTest, AmendmentWithoutEffectIsKeptAndNotSent) {
    OpenLogbook log;
    log.accept(a_weight("w1"));
    log.accept(amended(a_weight("w1", "19"), "2026-10-12T10:00"));
    log.take();
    log.settle(confirmed("w1", 2));
    const Verdict late = log.accept(amended(a_weight("w1", "18"), "2026-10-12T09:00"));
    EXPECT_FALSE(late.becomes_current);
    EXPECT_EQ(log.delivery("w1"), "confirmed for 2");
    const EntryRecord record = log.record("w1");
    EXPECT_THAT(record.revisions, testing::SizeIs(3));
    EXPECT_EQ(kg_of(record.current), "19");
}

TEST(LogbookTest, HistoryIsInTheOrderOfArrivalWithWhenItWasAccepted) {
    OpenLogbook log;
    const Instant first = instant("2026-10-12T08:00Z");
    const Instant second = instant("2026-10-13T08:00Z");
    log.accept({arrival(a_weight("w1", "18.40"))}, first);
    log.accept({arrival(amended(a_weight("w1", "18.6"), "2026-10-12T10:00"))}, second);
    log.accept({arrival(amended(a_weight("w1", "18.5"), "2026-10-12T09:00"))}, second);
    const EntryRecord record = log.record("w1");
    ASSERT_THAT(record.revisions, testing::SizeIs(3));
    EXPECT_EQ(kg_of(record.revisions[0]), "18.40");
    EXPECT_EQ(kg_of(record.revisions[1]), "18.6");
    EXPECT_EQ(kg_of(record.revisions[2]), "18.5");
    EXPECT_EQ(record.revisions[0].accepted, first);
    EXPECT_EQ(record.revisions[1].accepted, second);
    EXPECT_EQ(record.current.revision, 2);
    EXPECT_EQ(record.current.submission.reason, "typing slip");
}

TEST(LogbookTest, RetractionShowsTheContentItTookBack) {
    OpenLogbook log;
    log.accept(a_weight("w1", "18.4"));
    log.accept(amended(a_weight("w1", "18.6"), "2026-10-12T10:00"));
    log.accept(a_retraction("w1", "2026-10-12T11:00"), {});
    const EntryRecord record = log.record("w1");
    EXPECT_EQ(record.current.action(), entry::Action::retract);
    EXPECT_EQ(record.current.revision, 3);
    EXPECT_EQ(kg_of(record.current), "18.6");
}

TEST(LogbookTest, UnknownIdIsFoundAsNothing) {
    OpenLogbook log;
    const auto found = log.book().find(id_of("w1"));
    ASSERT_TRUE(found.has_value());
    EXPECT_FALSE(found->has_value());
}

TEST(LogbookTest, ListIsNewestFirstAndObeysItsLimit) {
    OpenLogbook log;
    for (const char* day : {"13", "12", "14"})
        log.accept(a_weight(day, "18.4", "2026-10-" + std::string(day) + "T08:00"));
    EXPECT_THAT(ids(log.book().list({})), ElementsAre(id_of("14"), id_of("13"), id_of("12")));
    EXPECT_THAT(ids(log.book().list({"", {}, {}, 2})), ElementsAre(id_of("14"), id_of("13")));
}

TEST(LogbookTest, ListTakesFromAndLeavesTo) {
    OpenLogbook log;
    for (const char* day : {"12", "13", "14"})
        log.accept(a_weight(day, "18.4", "2026-10-" + std::string(day) + "T08:00"));
    const Instant at_13 = instant("2026-10-13T07:00Z");
    EXPECT_THAT(ids(log.book().list({"", at_13, {}, 10})), ElementsAre(id_of("14"), id_of("13")));
    EXPECT_THAT(ids(log.book().list({"", {}, at_13, 10})), ElementsAre(id_of("12")));
    EXPECT_TRUE(ids(log.book().list({"", at_13, at_13, 10})).empty());
}

TEST(LogbookTest, ListOfOnePersonLeavesTheOthersOut) {
    OpenLogbook log;
    log.accept(a_weight("w1"));
    log.accept(weight_of("rowan", "w2"));
    EXPECT_THAT(ids(log.book().list({"rowan", {}, {}, 10})), ElementsAre(id_of("w2")));
    EXPECT_TRUE(ids(log.book().list({"nobody", {}, {}, 10})).empty());
}

TEST(LogbookTest, AmendedTimeMovesTheEntryInTheList) {
    OpenLogbook log;
    log.accept(a_weight("w1", "18.4", "2026-10-12T08:00"));
    log.accept(a_weight("w2", "18.4", "2026-10-13T08:00"));
    log.accept(amended(a_weight("w1", "18.4", "2026-10-14T08:00"), "2026-10-15T09:00"));
    EXPECT_THAT(ids(log.book().list({})), ElementsAre(id_of("w1"), id_of("w2")));
    EXPECT_THAT(ids(log.book().list({"", {}, instant("2026-10-13T00:00Z"), 10})), testing::IsEmpty());
}

TEST(LogbookTest, ClinicAddedLaterIsOwedTheEntriesOfItsPersonsOnce) {
    OpenLogbook log;
    log.accept(a_weight("w2", "18.4", "2026-10-13T08:00"), {});
    log.accept(a_weight("w1"), {"north"});
    log.accept(amended(a_weight("w1", "19"), "2026-10-12T09:00"), {"north"});
    log.accept(weight_of("rowan", "w3"), {});
    EXPECT_EQ(log.share("south", policy_for({"juniper"})).owed, 2);
    EXPECT_EQ(log.delivery("w1", "south"), "waiting for 2");
    EXPECT_EQ(log.delivery("w2", "south"), "waiting for 1");
    EXPECT_EQ(log.delivery("w3", "south"), "none");
    EXPECT_EQ(log.share("south", policy_for({"juniper"})).owed, 0);
    const auto parcels = log.outbox().take("south", {.limit = 10}, test_now()).value();
    ASSERT_THAT(parcels, testing::SizeIs(2));
    EXPECT_EQ(parcels[0].id, id_of("w1")) << "the entry that happened first goes first";
}

TEST(LogbookTest, OwingLeavesDeliveriesThatAreThereAsTheyAre) {
    OpenLogbook log;
    log.accept(a_weight("w1"));
    log.accept(a_weight("w2"));
    log.take();
    log.settle(confirmed("w1"));
    log.settle(refused("w2"));
    EXPECT_EQ(log.share("north", policy_for({"juniper"})).owed, 0);
    EXPECT_EQ(log.delivery("w1"), "confirmed for 1");
    EXPECT_EQ(log.delivery("w2"), "set_aside for 1");
}

TEST(LogbookTest, EverythingAcceptedIsThereAfterReopening) {
    OpenLogbook log;
    log.accept(a_dose("d1", "0.180"));
    log.accept(a_bruise("b1", "d1"));
    log.accept(a_weight("w1"));
    log.accept(a_retraction("w1", "2026-10-12T09:00"), {});
    log.reopen();
    EXPECT_THAT(ids(log.book().list({})), testing::SizeIs(3));
    EXPECT_EQ(entry::to_body(log.record("d1").current.submission), entry::to_body(a_dose("d1", "0.180")));
    EXPECT_EQ(entry::to_body(log.record("b1").current.submission), entry::to_body(a_bruise("b1", "d1")));
    EXPECT_EQ(log.record("w1").current.action(), entry::Action::retract);
    EXPECT_EQ(log.accept(a_dose("d1")).kind, Kind::already_there);
    EXPECT_EQ(log.delivery("w1"), "waiting for 2");
}

}  // namespace

}  // namespace nightferry::logbook
