// What becomes of a submission beside what is known of its entry.
#include "daemon/logbook/acceptance.hpp"

#include <set>

#include "daemon/entry/revisions.hpp"
#include "tests/daemon/logbook/entries.hpp"

namespace nightferry::logbook {

namespace {

using namespace test;
using entry::Submission;
using testing::HasSubstr;
using Kind = Verdict::Kind;

// Hands them in one after the other, as a logbook would, and returns what it then knows.
std::vector<KnownRevision> handed_in(const std::vector<Submission>& submissions) {
    std::vector<KnownRevision> known;
    for (const Submission& one : submissions) {
        const Verdict verdict = judge(known, one);
        if (verdict.kind == Kind::add) known.push_back({verdict.revision, one});
    }
    return known;
}

std::string in_effect_after(const std::vector<Submission>& submissions) {
    return entry::essence(current_of(handed_in(submissions)).submission);
}

// The record first, then `rest` in every order; the different outcomes.
std::set<std::string> outcomes(const Submission& record, std::vector<Submission> rest) {
    const auto by_text = [](const Submission& a, const Submission& b) {
        return entry::essence(a) < entry::essence(b);
    };
    std::sort(rest.begin(), rest.end(), by_text);
    std::set<std::string> found;
    do {
        std::vector<Submission> order{record};
        order.insert(order.end(), rest.begin(), rest.end());
        found.insert(in_effect_after(order));
    } while (std::next_permutation(rest.begin(), rest.end(), by_text));
    return found;
}

Submission not_given(const std::string& label) {
    return submission_from(
        R"({"type":"dose_not_given","person":"juniper","by":"marlow","medicine":"enoxaparin-100",)"
        R"("why":"refused","time":"2026-10-12T08:00","id":")" +
        label + "\"}");
}

TEST(AcceptanceTest, AnAmendmentOfTheSameMinuteTakesEffect) {
    const auto record = submission_from(
        R"({"type":"weight","person":"juniper","by":"marlow","kg":18.4,"time":"2026-10-12T08:00",)"
        R"("recorded":"2026-10-12T08:05","id":"w1"})");
    const auto amendment = submission_from(
        R"({"action":"amend","type":"weight","person":"juniper","by":"marlow","kg":18.6,)"
        R"("time":"2026-10-12T08:00","recorded":"2026-10-12T08:05","recorded_by":"marlow","id":"w1"})");
    EXPECT_EQ(in_effect_after({record, amendment}), entry::essence(amendment));
}

TEST(AcceptanceTest, NewRecordIsRevisionOneInEffect) {
    const Verdict verdict = judge({}, a_weight("w1"));
    EXPECT_EQ(verdict.kind, Kind::add);
    EXPECT_EQ(verdict.revision, 1);
    EXPECT_TRUE(verdict.becomes_current);
    EXPECT_FALSE(verdict.is_retracted);
    EXPECT_EQ(verdict.words, "");
}

TEST(AcceptanceTest, AmendingOrRetractingAnUnknownEntryIsAConflict) {
    for (const Submission& one :
         {amended(a_weight("w1"), "2026-10-12T09:00"), a_retraction("w1", "2026-10-12T09:00")}) {
        const Verdict verdict = judge({}, one);
        EXPECT_EQ(verdict.kind, Kind::conflict);
        EXPECT_THAT(verdict.words, HasSubstr("hand in the entry itself first, or check the id"));
    }
}

TEST(AcceptanceTest, WhatAnyRevisionSaysIsAlreadyThereUnderItsNumber) {
    const Submission first = amended(a_weight("w1", "18.5"), "2026-10-12T09:00");
    const Submission second = amended(a_weight("w1", "18.6"), "2026-10-12T10:00");
    const auto known = handed_in({a_weight("w1"), first, second});
    const std::vector<std::pair<Submission, std::int64_t>> repeated{
        {a_weight("w1"), 1}, {first, 2}, {second, 3}};
    for (const auto& [submission, revision] : repeated) {
        const Verdict verdict = judge(known, submission);
        EXPECT_EQ(verdict.kind, Kind::already_there);
        EXPECT_EQ(verdict.revision, revision);
        EXPECT_FALSE(verdict.becomes_current);
        EXPECT_FALSE(verdict.is_retracted);
    }
}

TEST(AcceptanceTest, TrailingZerosAndOffsetsMakeNoDifference) {
    const Submission amendment = amended(a_weight("w1", "18.5"), "2026-10-12T09:00");
    Submission written_elsewhere = amended(a_weight("w1", "18.500"), "2026-10-12T09:00");
    written_elsewhere.recorded->offset = std::chrono::hours{1};
    const auto known = handed_in({a_weight("w1", "18.4"), amendment});
    for (const Submission& same : {a_weight("w1", "18.40"), a_weight("w1", "18.4", "2026-10-12T07:00Z"),
                                   a_weight("w1", "18.400", "2026-10-12T12:30+05:30"), written_elsewhere}) {
        EXPECT_EQ(judge(known, same).kind, Kind::already_there) << entry::to_body(same);
    }
}

TEST(AcceptanceTest, AnotherValueTimeNoteOrPersonGivingItIsAConflictThatSaysWhatToDo) {
    const auto known = handed_in({a_weight("w1")});
    Submission by_another = a_weight("w1");
    by_another.entry->by = "tove";
    for (const Submission& other :
         {a_weight("w1", "18.41"), a_weight("w1", "18.4", "2026-10-12T08:01"),
          a_weight("w1", "18.4", "2026-10-12T08:00", R"(,"note":"in shoes")"), by_another}) {
        const Verdict verdict = judge(known, other);
        EXPECT_EQ(verdict.kind, Kind::conflict) << entry::to_body(other);
        EXPECT_THAT(verdict.words, HasSubstr("nothing was changed"));
        EXPECT_THAT(verdict.words, HasSubstr("action amend and its id " + id_of("w1").to_string()));
        EXPECT_THAT(verdict.words, HasSubstr("give it an id of its own"));
    }
}

TEST(AcceptanceTest, ConflictTextsHoldNothingOfTheEntry) {
    const auto known = handed_in({a_weight("w1", "18.4", "2026-10-12T08:00", R"(,"note":"in shoes")")});
    EXPECT_THAT(judge(known, a_weight("w1", "23.7")).words,
                testing::AllOf(testing::Not(HasSubstr("18.4")), testing::Not(HasSubstr("23.7")),
                               testing::Not(HasSubstr("shoes")), testing::Not(HasSubstr("juniper"))));
}

TEST(AcceptanceTest, LaterWrittenAmendmentComesIntoEffect) {
    const Verdict verdict =
        judge(handed_in({a_weight("w1")}), amended(a_weight("w1", "18.6"), "2026-10-12T09:00"));
    EXPECT_EQ(verdict.kind, Kind::add);
    EXPECT_EQ(verdict.revision, 2);
    EXPECT_TRUE(verdict.becomes_current);
}

TEST(AcceptanceTest, EarlierWrittenAmendmentIsKeptWithoutEffect) {
    const auto known = handed_in({a_weight("w1"), amended(a_weight("w1", "18.6"), "2026-10-12T10:00")});
    const Verdict verdict = judge(known, amended(a_weight("w1", "18.5"), "2026-10-12T09:00"));
    EXPECT_EQ(verdict.kind, Kind::add);
    EXPECT_EQ(verdict.revision, 3);
    EXPECT_FALSE(verdict.becomes_current);
}

TEST(AcceptanceTest, RecordThatDoesNotSayWhenItWasWrittenCountsFromWhenItHappened) {
    EXPECT_EQ(entry::order_of(a_weight("w1", "18.4", "2026-10-12T08:00")), instant("2026-10-12T07:00Z"));
    EXPECT_EQ(
        entry::order_of(a_weight("w1", "18.4", "2026-10-12T08:00", R"(,"recorded":"2026-10-12T08:30")")),
        instant("2026-10-12T07:30Z"));
}

TEST(AcceptanceTest, AmendmentToAnotherPersonIsAConflict) {
    Submission moved = amended(a_weight("w1"), "2026-10-12T09:00");
    moved.entry->person = "rowan";
    const Verdict verdict = judge(handed_in({a_weight("w1")}), moved);
    EXPECT_EQ(verdict.kind, Kind::conflict);
    EXPECT_THAT(verdict.words, HasSubstr("another person; retract it and record a new one"));
}

TEST(AcceptanceTest, AmendmentKeepsTheKindExceptBetweenGivenAndNotGiven) {
    const std::string later = "2026-10-12T09:00";
    EXPECT_EQ(judge(handed_in({a_dose("x")}), amended(not_given("x"), later)).kind, Kind::add);
    EXPECT_EQ(judge(handed_in({not_given("x")}), amended(a_dose("x"), later)).kind, Kind::add);
    const Verdict verdict = judge(handed_in({a_dose("x")}), amended(a_weight("x"), later));
    EXPECT_EQ(verdict.kind, Kind::conflict);
    EXPECT_THAT(verdict.words, HasSubstr("what kind of entry it is; retract it and record a new one"));
    EXPECT_EQ(judge(handed_in({a_weight("x")}), amended(not_given("x"), later)).kind, Kind::conflict);
}

TEST(AcceptanceTest, RetractionIsFinalWheneverItWasWrittenDown) {
    const auto known = handed_in({a_weight("w1"), amended(a_weight("w1", "18.6"), "2026-10-12T12:00")});
    const Verdict verdict = judge(known, a_retraction("w1", "2026-10-12T09:00"));
    EXPECT_EQ(verdict.kind, Kind::add);
    EXPECT_TRUE(verdict.becomes_current);
}

TEST(AcceptanceTest, NothingNewIsAddedAfterARetraction) {
    const auto known = handed_in({a_weight("w1"), a_retraction("w1", "2026-10-12T09:00")});
    for (const Submission& late :
         {amended(a_weight("w1", "18.6"), "2026-10-12T12:00"), a_retraction("w1", "2026-10-12T13:00")}) {
        const Verdict verdict = judge(known, late);
        EXPECT_EQ(verdict.kind, Kind::conflict);
        EXPECT_THAT(verdict.words, HasSubstr("was retracted before; record a new entry instead"));
    }
}

TEST(AcceptanceTest, RepeatedPartsOfARetractedEntryAreThereAndSaidToBeRetracted) {
    const Submission end = a_retraction("w1", "2026-10-12T09:00");
    const auto known = handed_in({a_weight("w1"), end});
    for (const Submission& repeated : {a_weight("w1"), end}) {
        const Verdict verdict = judge(known, repeated);
        EXPECT_EQ(verdict.kind, Kind::already_there);
        EXPECT_TRUE(verdict.is_retracted);
    }
}

TEST(AcceptanceTest, EveryOrderOfArrivalLeavesTheSameRevisionInEffect) {
    // Two of the amendments were written in the same minute.
    const std::vector<Submission> amendments{amended(a_weight("w1", "18.5"), "2026-10-12T09:00"),
                                             amended(a_weight("w1", "18.6"), "2026-10-12T10:00"),
                                             amended(a_weight("w1", "18.7"), "2026-10-12T11:00"),
                                             amended(a_weight("w1", "18.8"), "2026-10-12T11:00")};
    EXPECT_THAT(outcomes(a_weight("w1"), amendments), testing::SizeIs(1));
    auto with_the_end = amendments;
    with_the_end.push_back(a_retraction("w1", "2026-10-12T10:30"));
    EXPECT_THAT(outcomes(a_weight("w1"), with_the_end), testing::ElementsAre(HasSubstr("retract")));
}

TEST(AcceptanceTest, RevisionInEffectDoesNotDependOnTheOrderOfKnownRevisions) {
    auto known = handed_in({a_weight("w1"), amended(a_weight("w1", "18.6"), "2026-10-12T10:00"),
                            amended(a_weight("w1", "18.5"), "2026-10-12T09:00")});
    EXPECT_EQ(current_of(known).revision, 2);
    std::reverse(known.begin(), known.end());
    EXPECT_EQ(current_of(known).revision, 2);
    EXPECT_EQ(judge(known, amended(a_weight("w1", "18.7"), "2026-10-12T11:00")).revision, 4);
}

}  // namespace

}  // namespace nightferry::logbook
