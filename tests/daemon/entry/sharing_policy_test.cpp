// What a clinic may have by its policy, and by the policies it has had before.
#include "daemon/entry/sharing_policy.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "daemon/entry/free_texts.hpp"

namespace nightferry::entry {

namespace {

using testing::HasSubstr;
using namespace std::chrono_literals;

Instant at(std::string_view text) {
    return parse_moment(text).value().at;
}

Entry weight_of(const std::string& person, std::string_view time) {
    Entry entry;
    entry.person = person;
    entry.time = parse_moment(time).value();
    entry.what = Weight{Decimal(184, 1)};
    return entry;
}

SharingTerms terms_for(std::set<std::string> persons) {
    SharingTerms terms;
    terms.persons = std::move(persons);
    return terms;
}

Shareable weight_at(std::string_view time) {
    return {"juniper", Kind::weight, at(time)};
}

TEST(SharingPolicyTest, WithoutTermsNobodyIsShared) {
    EXPECT_EQ(SharingPolicy().why_not(weight_at("2026-10-12T08:00:00Z")),
              "'juniper' is not shared with this clinic");
}

TEST(SharingPolicyTest, EverythingOfAPersonIsSharedUnlessItSaysOtherwise) {
    const SharingPolicy policy(terms_for({"juniper"}));
    EXPECT_TRUE(policy.may_have(weight_of("juniper", "2001-10-12T08:00:00Z")));
    EXPECT_FALSE(policy.may_have(weight_of("rowan", "2026-10-12T08:00:00Z")));
    for (const Kind kind : {Kind::dose_given, Kind::dose_not_given, Kind::finding, Kind::weight,
                            Kind::vial_opened, Kind::summary})
        EXPECT_FALSE(policy.why_not({"juniper", kind, {}}));
    EXPECT_TRUE(policy.with_notes());
}

TEST(SharingPolicyTest, KindsAreSharedByTheirNames) {
    SharingTerms terms = terms_for({"juniper"});
    terms.kinds = {Kind::dose_given};
    const SharingPolicy policy(terms);
    EXPECT_FALSE(policy.why_not({"juniper", Kind::dose_given, {}}));
    EXPECT_EQ(policy.why_not({"juniper", Kind::finding, {}}),
              "entries of the kind finding are not shared with this clinic");
}

TEST(SharingPolicyTest, TheFirstDayBeginsAtMidnightAtHome) {
    SharingTerms terms = terms_for({"juniper"});
    terms.from = parse_moment("2026-10-12T00:00:00+01:00").value();
    const SharingPolicy policy(terms);
    EXPECT_TRUE(policy.may_have(weight_of("juniper", "2026-10-11T23:00:00Z")));
    EXPECT_EQ(policy.why_not(weight_at("2026-10-11T22:59:59Z")),
              "it happened before 2026-10-12, from when on this clinic may have entries");
}

TEST(SharingPolicyTest, SummaryIsJudgedByTheBeginningOfItsTime) {
    SharingTerms terms = terms_for({"juniper"});
    terms.from = parse_moment("2026-10-14T00:00:00+01:00").value();
    Entry week = weight_of("juniper", "2026-10-19T00:00:00+01:00");
    Summary summary;
    summary.of = SummaryOf::week;
    summary.begins = parse_moment("2026-10-12T00:00:00+01:00").value();
    week.what = summary;
    EXPECT_THAT(SharingPolicy(terms).why_not(shareable(week)).value_or(""),
                HasSubstr("what it tells of began"));
}

TEST(SharingPolicyTest, ItsTextSaysEverythingAndIsReadBack) {
    SharingTerms terms = terms_for({"rowan", "juniper"});
    terms.kinds = {Kind::weight, Kind::dose_given};
    terms.from = parse_moment("2026-10-12T00:00:00+01:00").value();
    terms.notes = false;
    const SharingPolicy policy(terms);
    EXPECT_EQ(policy.text(),
              "persons=juniper,rowan;kinds=dose_given,weight;from=2026-10-12T00:00:00+01:00;notes=no");
    EXPECT_EQ(SharingPolicy::read(policy.text()).value(), policy);
    EXPECT_EQ(SharingPolicy::read(SharingPolicy().text()).value(), SharingPolicy());
}

TEST(SharingPolicyTest, TextOfAnotherFormIsUnreadable) {
    for (const std::string_view text :
         {"", "persons=juniper", "persons=;kinds=pills;from=;notes=yes",
          "persons=;kinds=;from=soon;notes=yes", "persons=;kinds=;from=;notes=perhaps",
          "kinds=;persons=;from=;notes=yes", "persons=;kinds=;from=;notes=yes;until=never"})
        EXPECT_EQ(SharingPolicy::read(text).error().code, Errc::unreadable) << text;
}

class SharingHistoryTest : public testing::Test {
 protected:
    // In force from that day on, of these kinds.
    void add(std::string_view since, std::set<Kind> kinds, std::optional<Instant> back_to = {},
             bool notes = true) {
        SharingTerms terms = terms_for({"juniper"});
        terms.kinds = std::move(kinds);
        terms.notes = notes;
        policies_.push_back({at(since), back_to, SharingPolicy(terms)});
    }
    std::optional<std::string> why_not(std::string_view happened, std::string_view recorded) const {
        return SharingHistory(policies_).why_not(weight_at(happened), at(recorded));
    }
    bool with_notes(std::string_view happened, std::string_view accepted) const {
        return SharingHistory(policies_).with_notes(weight_at(happened), at(accepted));
    }

    std::vector<PolicyInForce> policies_;
    const std::set<Kind> weights_{Kind::weight};
    const std::set<Kind> doses_{Kind::dose_given};
};

TEST_F(SharingHistoryTest, WhereNobodySaidAnythingEverythingIsShared) {
    EXPECT_FALSE(why_not("2026-10-01T08:00:00Z", "2026-10-01T08:00:00Z"));
    EXPECT_TRUE(with_notes("2026-10-01T08:00:00Z", "2026-10-01T08:00:00Z"));
}

TEST_F(SharingHistoryTest, TheFirstPolicyReachesBackToTheBeginning) {
    add("2026-10-10T00:00:00Z", weights_, Instant::min());
    EXPECT_FALSE(why_not("2020-01-01T08:00:00Z", "2026-10-01T08:00:00Z"));
}

TEST_F(SharingHistoryTest, WhatWasRecordedBeforeAWideningIsNotOwed) {
    add("2026-10-10T00:00:00Z", doses_, Instant::min());
    add("2026-10-20T00:00:00Z", weights_);
    EXPECT_EQ(why_not("2026-10-19T08:00:00Z", "2026-10-19T08:00:00Z"),
              "it was recorded before this clinic was to have it, which is since 2026-10-20T00:00:00Z");
    EXPECT_FALSE(why_not("2026-10-19T08:00:00Z", "2026-10-20T08:00:00Z"))
        << "only when it was recorded counts";
}

TEST_F(SharingHistoryTest, WhatWasAlwaysSharedStaysOwedThroughOtherChanges) {
    add("2026-10-10T00:00:00Z", weights_, Instant::min());
    add("2026-10-20T00:00:00Z", {Kind::weight, Kind::finding});
    EXPECT_FALSE(why_not("2026-10-12T08:00:00Z", "2026-10-12T08:00:00Z"));
}

TEST_F(SharingHistoryTest, WhatWasWithdrawnInBetweenIsNotOwedAgain) {
    add("2026-10-10T00:00:00Z", weights_, Instant::min());
    add("2026-10-15T00:00:00Z", doses_);
    EXPECT_EQ(why_not("2026-10-12T08:00:00Z", "2026-10-12T08:00:00Z"),
              "entries of the kind weight are not shared with this clinic");
    add("2026-10-20T00:00:00Z", weights_);
    EXPECT_TRUE(why_not("2026-10-12T08:00:00Z", "2026-10-12T08:00:00Z"));
}

TEST_F(SharingHistoryTest, BackDatingReachesAsFarAsItSays) {
    add("2026-10-10T00:00:00Z", doses_, Instant::min());
    add("2026-10-20T00:00:00Z", weights_);
    add("2026-10-21T00:00:00Z", weights_, at("2026-10-15T00:00:00Z"));
    EXPECT_FALSE(why_not("2026-10-15T00:00:00Z", "2026-10-15T08:00:00Z"));
    EXPECT_TRUE(why_not("2026-10-14T23:59:59Z", "2026-10-15T08:00:00Z"));
}

TEST_F(SharingHistoryTest, NotesGoAlongFromTheDayOnThatTheyMay) {
    add("2026-10-10T00:00:00Z", weights_, Instant::min(), false);
    EXPECT_FALSE(with_notes("2026-10-12T08:00:00Z", "2026-10-12T08:00:00Z"));
    add("2026-10-20T00:00:00Z", weights_, {}, true);
    EXPECT_FALSE(with_notes("2026-10-12T08:00:00Z", "2026-10-12T08:00:00Z"));
    EXPECT_TRUE(with_notes("2026-10-12T08:00:00Z", "2026-10-20T08:00:00Z"));
    const SharingHistory history(policies_);
    EXPECT_TRUE(history.ever_had_notes());
    EXPECT_TRUE(history.ever_left_notes_out());
}

TEST(FreeTextsTest, AreTheNoteTheReasonAndWhoGaveAnInstruction) {
    Version version;
    version.submission.reason = "typed 0.81";
    version.content.note = "after breakfast";
    version.content.what = DoseNotGiven{"enoxaparin-100", WhyNotGiven::clinic_hold, "Nurse Exampleton"};
    version.submission.entry = version.content;
    EXPECT_THAT(free_texts(version), testing::ElementsAre(FreeText{"note", "after breakfast"},
                                                          FreeText{"instructed_by", "Nurse Exampleton"},
                                                          FreeText{"reason", "typed 0.81"}));
    const Version bare = without_free_texts(version);
    EXPECT_THAT(free_texts(bare), testing::IsEmpty());
    EXPECT_FALSE(bare.submission.entry->note);
    EXPECT_EQ(std::get<DoseNotGiven>(bare.content.what).why, WhyNotGiven::clinic_hold);
}

}  // namespace

}  // namespace nightferry::entry
