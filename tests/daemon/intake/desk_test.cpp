// What becomes of handed-in bytes: the answers, and what the logbook and the clinics' outboxes hold then.
#include "daemon/intake/desk.hpp"

#include "tests/daemon/intake/hub.hpp"

namespace nightferry::intake {

namespace {

using Told = std::vector<std::string>;

// "line 1: accepted, revision 1", with the places of its problems behind it; their words are another room's.
Told told(const Answers& answers) {
    Told lines;
    for (const Answer& one : answers.answers) {
        std::string line = one.where + ": " + std::string(word_for(one.kind));
        if (one.revision > 0) line += ", revision " + std::to_string(one.revision);
        if (!one.is_in_effect) line += ", not in effect";
        if (one.is_retracted) line += ", retracted";
        for (const entry::Problem& problem : one.problems) {
            line += " because of " + problem.where;
            EXPECT_FALSE(problem.what.empty());
        }
        lines.push_back(std::move(line));
    }
    return lines;
}

std::string kg_in_effect(Hub& hub, const std::string& label) {
    const auto record = hub.book.find(hub.id(label)).value();
    if (!record) return "none";
    return std::get<entry::Weight>(record->current.content.what).kg.to_string();
}

TEST(DeskTest, EveryEntryGetsItsOwnAnswerInOrder) {
    Hub hub;
    hub.hand_in(weight("w1", "18.4"));
    const Answers answers =
        hub.hand_in(weight("w2") + weight("w1", "18.40") + weight("w1", "18.6") + weight("w3", "\"heavy\"") +
                    "\n" + weight("w2") + retracted("w9") + "7\n");
    EXPECT_EQ(told(answers),
              (Told{"line 1: accepted, revision 1", "line 2: already_there, revision 1",
                    "line 3: conflict because of line 3", "line 4: refused because of line 4, /kg",
                    "line 6: already_there, revision 1", "line 7: conflict because of line 7",
                    "line 8: refused because of line 8"}));
    EXPECT_EQ(answers.failure, std::nullopt);
    EXPECT_FALSE(answers.all_good());
    EXPECT_EQ(answers.count(Answer::Kind::accepted), 1u);
    EXPECT_EQ(answers.count(Answer::Kind::already_there), 2u);
    EXPECT_EQ(answers.count(Answer::Kind::conflict), 2u);
    EXPECT_EQ(answers.count(Answer::Kind::refused), 2u);
    EXPECT_EQ(hub.entries(), 2u);
}

TEST(DeskTest, AnswersAreCountedByTheWayInAndTheirWord) {
    Hub hub;
    hub.hand_in(weight("w1") + weight("w1") + weight("w1", "18.6") + weight("w2", "0"));
    hub.hand_in(weight("w3"));
    hub.hand_in("{", entry::Format::json);
    EXPECT_TRUE(hub.desk.hand_in_resources("{}", std::nullopt, "inbox").value().failure);
    EXPECT_TRUE(hub.desk.hand_in_resources("\xff", std::nullopt, "inbox").value().failure);
    using Counts = std::map<std::string, std::int64_t>;
    EXPECT_EQ(
        hub.desk.tallies(),
        (Desk::Tallies{
            {"local",
             Counts{
                 {"accepted", 2}, {"already_there", 1}, {"conflict", 1}, {"refused", 1}, {"unreadable", 1}}},
            {"inbox", Counts{{"unreadable", 2}}}}));
}

TEST(DeskTest, AnswersNameTheIdUnlessTheEntryWasRefused) {
    Hub hub;
    const std::string uuid = "0b0e5ab0-1d9b-4b3c-8a51-3b8a4a1f7c11";
    const Answers answers =
        hub.hand_in(weight("w1") + weight("w1", "18.6") + weight("urn:uuid:" + uuid) + weight("w2", "0"));
    ASSERT_EQ(answers.answers.size(), 4u);
    EXPECT_EQ(answers.answers[0].id, hub.id("w1"));
    EXPECT_EQ(answers.answers[1].id, hub.id("w1"));
    EXPECT_EQ(answers.answers[2].id, EntryId::parse(uuid));
    EXPECT_EQ(answers.answers[3].id, std::nullopt);
}

TEST(DeskTest, GoodRowsAreKeptBesideBadOnes) {
    Hub hub;
    const Answers answers = hub.hand_in(weight_rows({"w1,weight,juniper,2026-10-12T08:00,marlow,18.4",
                                                     "w2,weight,juniper,2026-10-13T08:00,marlo,none",
                                                     "w3,weight,juniper,2026-10-14T08:00,tove,18.6"}),
                                        entry::Format::csv);
    EXPECT_EQ(told(answers),
              (Told{"line 2: accepted, revision 1",
                    "line 3: refused because of line 3, column by because of line 3, column kg",
                    "line 4: accepted, revision 1"}));
    EXPECT_EQ(hub.entries(), 2u);
}

TEST(DeskTest, WhatCannotBeReadAsAWholeHasAFailureAndNoAnswers) {
    Hub hub;
    const Answers answers = hub.hand_in("[" + weight("w1") + "," + weight("w2"), entry::Format::json);
    ASSERT_TRUE(answers.failure.has_value());
    EXPECT_EQ(answers.failure->where, "line 3, column 1");
    EXPECT_TRUE(answers.answers.empty());
    EXPECT_FALSE(answers.all_good());
    EXPECT_EQ(hub.entries(), 0u);
}

TEST(DeskTest, OneListMayRecordAmendAndRetractTheSameEntry) {
    Hub hub;
    const Answers answers = hub.hand_in(weight("w1") + amended("w1", "18.6", "2026-10-12T09:00") +
                                        retracted("w1") + weight("w1"));
    EXPECT_EQ(told(answers),
              (Told{"line 1: accepted, revision 1", "line 2: accepted, revision 2",
                    "line 3: accepted, revision 3", "line 4: already_there, revision 1, retracted"}));
    EXPECT_TRUE(answers.all_good());
}

TEST(DeskTest, AnAmendmentWrittenDownEarlierIsKeptAndNotInEffect) {
    Hub hub;
    hub.hand_in(weight("w1") + amended("w1", "18.6", "2026-10-12T10:00"));
    EXPECT_EQ(told(hub.hand_in(amended("w1", "18.5", "2026-10-12T09:00"))),
              Told{"line 1: accepted, revision 3, not in effect"});
    EXPECT_EQ(kg_in_effect(hub, "w1"), "18.6");
    EXPECT_EQ(hub.deliveries("w1"), Told{"nowhere wants 2, waiting"});
}

TEST(DeskTest, EntriesGoToEveryClinicThatMayHaveThePerson) {
    Hub hub;
    hub.clinics["juniper"] = {"nowhere", "elsewhere"};
    hub.hand_in(weight("w1"));
    EXPECT_EQ(hub.deliveries("w1"), (Told{"elsewhere wants 1, waiting", "nowhere wants 1, waiting"}));
}

TEST(DeskTest, EntriesOfAPersonNoClinicMayHaveGetNoDelivery) {
    Hub hub;
    EXPECT_TRUE(hub.hand_in(weight("r1", "20", "", "rowan") + weight("w1")).all_good());
    EXPECT_EQ(hub.deliveries("r1"), Told{});
    EXPECT_EQ(hub.deliveries("w1"), Told{"nowhere wants 1, waiting"});
}

TEST(DeskTest, RetractionReachesTheClinicsItsEntryAlreadyHas) {
    Hub hub;
    hub.hand_in(weight("w1") + weight("r1", "20", "", "rowan"));
    hub.clinics["juniper"] = {"elsewhere"};  // The settings changed since.
    EXPECT_TRUE(hub.hand_in(retracted("w1") + retracted("r1")).all_good());
    EXPECT_EQ(hub.deliveries("w1"), Told{"nowhere wants 2, waiting"});
    EXPECT_EQ(hub.deliveries("r1"), Told{});
}

TEST(DeskTest, AmendmentReachesTheOldClinicsAndTheNewOnes) {
    Hub hub;
    hub.hand_in(weight("w1"));
    hub.clinics["juniper"] = {"elsewhere"};
    EXPECT_TRUE(hub.hand_in(amended("w1", "18.6", "2026-10-12T09:00")).all_good());
    EXPECT_EQ(hub.deliveries("w1"), (Told{"elsewhere wants 2, waiting", "nowhere wants 2, waiting"}));
}

TEST(DeskTest, EveryRevisionRemembersWhenAndWhereItCameIn) {
    Hub hub;
    ASSERT_TRUE(hub.desk.hand_in(weight("w1"), entry::Format::ndjson, "inbox"));
    hub.clock.move(std::chrono::hours(1));
    hub.hand_in(amended("w1", "18.6", "2026-10-12T09:00"));
    auto sources = hub.db->prepare("SELECT group_concat(source, ' ') FROM revisions");
    ASSERT_TRUE(sources.value().step().value());
    EXPECT_EQ(sources->text(0), "inbox local");
    const auto record = hub.book.find(hub.id("w1")).value();
    ASSERT_EQ(record.value().revisions.size(), 2u);
    EXPECT_EQ(record->revisions[0].accepted, test::test_now());
    EXPECT_EQ(record->revisions[1].accepted, test::test_now() + std::chrono::hours(1));
}

TEST(DeskTest, OnAFullDiskNothingOfTheInputIsAccepted) {
    Hub hub;
    std::string many;
    for (int i = 0; i < 200; ++i)
        many += weight("w" + std::to_string(i), "18.4", R"("note":")" + std::string(500, 'n') + '"');
    hub.fill_disk();
    const auto answers = hub.desk.hand_in(many, entry::Format::ndjson, "local");
    ASSERT_FALSE(answers);
    EXPECT_EQ(answers.error().code, Errc::disk_full);
    EXPECT_EQ(hub.entries(), 0u);
    EXPECT_TRUE(hub.desk.tallies().empty()) << "nothing was answered";
    hub.make_room();
    EXPECT_EQ(hub.hand_in(many).count(Answer::Kind::accepted), 200u);
}

}  // namespace

}  // namespace nightferry::intake
