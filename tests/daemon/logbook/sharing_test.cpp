// What each clinic is owed as its policy comes, changes and goes.
#include "tests/daemon/logbook/open_logbook.hpp"

namespace nightferry::logbook {

namespace {

using namespace test;
using namespace std::chrono_literals;
using testing::ElementsAre;

class SharingTest : public testing::Test {
 protected:
    SharingTest() {
        // Before "north" was in the settings.
        accept(a_weight("w1"), {});
        accept(of_rowan("r1"), {});
    }
    static entry::Submission of_rowan(const std::string& label) {
        entry::Submission weight = a_weight(label);
        weight.entry->person = "rowan";
        return weight;
    }
    // Every call is a minute after the one before.
    Instant later() { return now_ += 1min; }
    void accept(entry::Submission submission, std::vector<std::string> clinics = {"north"}) {
        log_.accept({arrival(std::move(submission), std::move(clinics))}, later());
    }
    SharingChange share(const entry::SharingTerms& terms, const std::string& clinic = "north") {
        return log_.share(clinic, entry::SharingPolicy(terms), later());
    }
    std::int64_t owed_to(std::set<std::string> persons, const std::string& clinic = "north") {
        return log_.share(clinic, policy_for(std::move(persons)), later()).owed;
    }
    // Everything of Juniper's but these kinds.
    static entry::SharingTerms without(std::set<entry::Kind> kinds) {
        entry::SharingTerms terms = policy_for({"juniper"}).terms();
        for (const entry::Kind kind : kinds)
            terms.kinds.erase(kind);
        return terms;
    }
    std::int64_t back_date(std::string_view to) {
        const auto owed = log_.book().back_date("north", instant(to), "marlow", later());
        EXPECT_TRUE(owed && *owed);
        return owed && *owed ? **owed : -1;
    }
    void share_only_with(const std::vector<std::string>& clinics) {
        ASSERT_TRUE(log_.book().share_only_with(clinics, later()).has_value());
    }
    // Everything that waits goes out, and the clinic confirms it.
    void send_all() {
        for (const Parcel& parcel : log_.take()) {
            Receipt receipt{parcel.wanted.revision, "Observation", parcel.id.to_string(), "1", 201, now_};
            log_.settle(
                {parcel.id, parcel.wanted.revision, Settlement::Fate::confirmed, receipt, false, false, {}});
        }
    }
    std::vector<std::string> labels_of(const std::vector<Parcel>& parcels) {
        std::vector<std::string> labels;
        for (const Parcel& parcel : parcels) {
            for (const char* label : {"w1", "w2", "w3", "d1", "d2", "b1"}) {
                if (parcel.id == id_of(label)) labels.emplace_back(label);
            }
        }
        return labels;
    }

    OpenLogbook log_;
    Instant now_ = test_now();
};

TEST_F(SharingTest, ClinicIsOwedWhatWasRecordedBeforeItWasSetUp) {
    EXPECT_EQ(owed_to({"juniper"}), 1);
    EXPECT_EQ(log_.delivery("w1"), "waiting for 1");
    EXPECT_EQ(log_.delivery("r1"), "none");
}

TEST_F(SharingTest, ClinicWithAFirstDayIsOwedWhatHappenedSince) {
    accept(a_weight("w2", "18.4", "2026-10-14T08:00"), {});
    entry::SharingTerms terms = policy_for({"juniper"}).terms();
    terms.from = parse_moment("2026-10-13T00:00:00+01:00").value();
    EXPECT_EQ(share(terms).owed, 1);
    EXPECT_EQ(log_.delivery("w1"), "none");
    EXPECT_EQ(log_.delivery("w2"), "waiting for 1");
    accept(a_weight("w3", "18.4", "2026-10-12T09:00"));
    EXPECT_EQ(log_.delivery("w3"), "none");
}

TEST_F(SharingTest, ClinicIsNotOwedWhatWasTakenBackBeforeItWasSetUp) {
    accept(a_weight("w2"), {});
    accept(a_retraction("w2", "2026-10-12T10:00"), {});
    EXPECT_EQ(owed_to({"juniper"}), 1);
    EXPECT_EQ(log_.delivery("w2"), "none");
}

// Each entry gets its deliveries as it is accepted, so there is nothing to look for.
TEST_F(SharingTest, ItLooksOnlyOnceForTheSamePolicy) {
    owed_to({"juniper"});
    accept(a_weight("w2"), {});
    EXPECT_EQ(owed_to({"juniper"}), 0);
    log_.reopen();
    EXPECT_EQ(owed_to({"juniper"}), 0) << "also after a restart";
    EXPECT_EQ(log_.delivery("w2"), "none");
}

TEST_F(SharingTest, EachClinicIsLookedAtByItself) {
    owed_to({"juniper"});
    EXPECT_EQ(owed_to({"juniper"}, "south"), 1);
}

TEST_F(SharingTest, ClinicThatStaysIsNotLookedAtAgain) {
    owed_to({"juniper"});
    owed_to({"juniper"}, "south");
    share_only_with({"north"});
    accept(a_weight("w2"), {});
    EXPECT_EQ(owed_to({"juniper"}), 0);
}

// A change applies from then on: whoever adds a person need not mean that person's whole past.
TEST_F(SharingTest, PersonWhoIsAddedIsSharedFromThenOn) {
    owed_to({"juniper"});
    EXPECT_EQ(owed_to({"juniper", "rowan"}), 0);
    EXPECT_EQ(log_.delivery("r1"), "none");
    accept(of_rowan("r2"));
    EXPECT_EQ(log_.delivery("r2"), "waiting for 1");
}

TEST_F(SharingTest, KindThatIsAddedIsSharedFromThenOnAlsoAfterARestart) {
    share(without({entry::Kind::dose_given}));
    accept(a_dose("d1"));
    EXPECT_EQ(log_.delivery("d1"), "none");
    EXPECT_EQ(share(without({})).owed, 0);
    log_.reopen();
    EXPECT_EQ(share(without({})).owed, 0);
    accept(a_dose("d2"));
    EXPECT_EQ(log_.delivery("d1"), "none");
    EXPECT_EQ(log_.delivery("d2"), "waiting for 1");
}

TEST_F(SharingTest, AmendmentBringsNothingThatWasRecordedBeforeItWasShared) {
    share(without({entry::Kind::dose_given}));
    accept(a_dose("d1"));
    share(without({}));
    accept(amended(a_dose("d1", "0.20"), "2026-10-12T09:00"));
    EXPECT_EQ(log_.delivery("d1"), "none");
}

// A wrong date was corrected; by what it says now it was to be shared when it was recorded.
TEST_F(SharingTest, AmendmentThatComesUnderThePolicyIsShared) {
    entry::SharingTerms terms = policy_for({"juniper"}).terms();
    terms.from = parse_moment("2026-10-12T00:00:00+01:00").value();
    share(terms);
    accept(a_weight("w2", "18.4", "2025-10-12T08:00"));
    EXPECT_EQ(log_.delivery("w2"), "none");
    accept(amended(a_weight("w2", "18.4", "2026-10-12T08:00"), "2026-10-12T09:00"));
    EXPECT_EQ(log_.delivery("w2"), "waiting for 2");
}

TEST_F(SharingTest, BackDatingOwesWhatHappenedSince) {
    share(without({entry::Kind::weight}));
    accept(a_weight("w2", "18.4", "2026-10-14T08:00"));
    accept(a_weight("w3", "18.4", "2026-10-13T08:00"));
    share(without({}));
    EXPECT_THAT(log_.book().would_be_owed("north", instant("2026-10-13T00:00:00Z")).value(),
                ElementsAre(id_of("w3"), id_of("w2")));
    EXPECT_EQ(log_.delivery("w2"), "none") << "asking changes nothing";
    EXPECT_EQ(back_date("2026-10-13T00:00:00Z"), 2);
    EXPECT_EQ(log_.delivery("w1"), "none");
    EXPECT_THAT(labels_of(log_.take()), ElementsAre("w3", "w2")) << "what happened first goes first";
    EXPECT_EQ(back_date("2026-10-13T00:00:00Z"), 0) << "doing it again changes nothing";
}

TEST_F(SharingTest, BackDatingGivesNothingThatThePolicyKeepsBack) {
    owed_to({"juniper"});
    share(without({entry::Kind::weight}));
    accept(a_weight("w2"));
    EXPECT_EQ(back_date("2020-01-01T00:00:00Z"), 0);
    EXPECT_EQ(log_.delivery("w1"), "withdrawn for 1");
}

TEST_F(SharingTest, WhatWasRecordedBeforeIsOwedSinceTheClinicWasSetUp) {
    now_ += std::chrono::days{30};
    EXPECT_EQ(owed_to({"juniper"}), 1);
    EXPECT_EQ(log_.outbox().counts("north").value().oldest_waiting, now_);
    now_ += std::chrono::days{30};
    share(without({entry::Kind::weight}));
    share(policy_for({"juniper"}).terms());
    EXPECT_EQ(back_date("2020-01-01T00:00:00Z"), 1);
    EXPECT_EQ(log_.outbox().counts("north").value().oldest_waiting, now_);
}

TEST_F(SharingTest, ClinicWithoutAPolicyCannotBeBackDated) {
    EXPECT_EQ(log_.book().back_date("north", now_, "marlow", now_).value(), std::nullopt);
}

TEST_F(SharingTest, WithdrawnKindIsNotSentAnyMore) {
    owed_to({"juniper"});
    accept(a_dose("d1"));
    EXPECT_EQ(share(without({entry::Kind::weight})).withdrawn, 1);
    EXPECT_EQ(log_.delivery("w1"), "withdrawn for 1");
    EXPECT_THAT(labels_of(log_.take()), ElementsAre("d1"));
    EXPECT_EQ(log_.outbox().counts("north").value().withdrawn, 1);
    EXPECT_EQ(log_.outbox().counts("north").value().oldest_waiting.has_value(), true);
}

TEST_F(SharingTest, WhatWasUnderWayWhenItWasWithdrawnIsNotSentAgain) {
    owed_to({"juniper"});
    log_.take();
    log_.reopen();
    share(without({entry::Kind::weight}));
    EXPECT_EQ(log_.delivery("w1"), "withdrawn for 1");
    const auto there = log_.book().withdrawn("north", 10).value();
    ASSERT_EQ(there.size(), 1u) << "it may have arrived";
    EXPECT_EQ(there[0].id, id_of("w1"));
}

TEST_F(SharingTest, WhatComesBackFromTheClinicIsWithdrawnBeforeItGoesAgain) {
    owed_to({"juniper"});
    log_.take();
    share(without({entry::Kind::weight}));
    log_.settle(again("w1"));
    EXPECT_EQ(log_.delivery("w1"), "waiting for 1");
    EXPECT_TRUE(log_.take().empty());
    EXPECT_EQ(log_.delivery("w1"), "withdrawn for 1");
}

TEST_F(SharingTest, WhatTheClinicHasIsListedWithWhyItIsNotShared) {
    owed_to({"juniper"});
    send_all();
    EXPECT_TRUE(log_.book().withdrawn("north", 10).value().empty());
    EXPECT_EQ(share(without({entry::Kind::weight})).withdrawn, 0);
    EXPECT_EQ(log_.delivery("w1"), "confirmed for 1");
    const auto there = log_.book().withdrawn("north", 10).value();
    ASSERT_EQ(there.size(), 1u);
    EXPECT_EQ(there[0].id, id_of("w1"));
    EXPECT_EQ(there[0].why, "entries of the kind weight are not shared with this clinic");
}

TEST_F(SharingTest, AmendmentOfWhatIsWithdrawnStaysHere) {
    owed_to({"juniper"});
    send_all();
    share(without({entry::Kind::weight}));
    accept(amended(a_weight("w1", "19"), "2026-10-12T09:00"));
    EXPECT_EQ(log_.delivery("w1"), "withdrawn for 2");
    EXPECT_TRUE(log_.take().empty());
}

TEST_F(SharingTest, RetractionOfWhatTheClinicHasGoesAllTheSame) {
    owed_to({"juniper"});
    send_all();
    share(without({entry::Kind::weight}));
    accept(a_retraction("w1", "2026-10-12T10:00"), {});
    const auto parcels = log_.take();
    ASSERT_THAT(labels_of(parcels), ElementsAre("w1"));
    EXPECT_TRUE(parcels[0].only_taken_back);
}

TEST_F(SharingTest, RetractionOfWhatNeverWentStaysHere) {
    owed_to({"juniper"});
    share(without({entry::Kind::weight}));
    accept(a_retraction("w1", "2026-10-12T10:00"), {});
    EXPECT_EQ(log_.delivery("w1"), "withdrawn for 2");
}

TEST_F(SharingTest, RetractionThatWaitsGoesAlthoughItsKindIsWithdrawn) {
    owed_to({"juniper"});
    send_all();
    accept(a_retraction("w1", "2026-10-12T10:00"), {});
    EXPECT_EQ(share(without({entry::Kind::weight})).withdrawn, 0);
    EXPECT_THAT(labels_of(log_.take()), ElementsAre("w1"));
}

TEST_F(SharingTest, WhatWasSetAsideMayBeThereWhenItIsWithdrawn) {
    owed_to({"juniper"});
    log_.take();
    log_.settle(refused("w1"));
    EXPECT_EQ(share(without({entry::Kind::weight})).withdrawn, 1);
    EXPECT_EQ(log_.book().withdrawn("north", 10).value().size(), 1u);
    accept(a_retraction("w1", "2026-10-12T10:00"), {});
    EXPECT_EQ(log_.delivery("w1"), "waiting for 2");
}

TEST_F(SharingTest, RetractionOfWhatLiesAsideGoesWhereItMayNotBeHadAnyMore) {
    owed_to({"juniper"});
    log_.take();
    share(without({entry::Kind::weight}));
    log_.settle(refused("w1"));
    accept(a_retraction("w1", "2026-10-12T10:00"), {});
    EXPECT_EQ(log_.delivery("w1"), "waiting for 2");
}

// What the clinic has to correct stays with the person who settles it.
TEST_F(SharingTest, RetractionThatWasSetAsideIsNotWithdrawn) {
    owed_to({"juniper"});
    send_all();
    accept(a_retraction("w1", "2026-10-12T10:00"), {});
    log_.take();
    log_.settle(refused("w1", 2));
    EXPECT_EQ(share(without({entry::Kind::weight})).withdrawn, 0);
    EXPECT_EQ(log_.delivery("w1"), "set_aside for 2");
}

TEST_F(SharingTest, WhatTheClinicHasIsKeptRightOnceItIsSharedAgain) {
    owed_to({"juniper"});
    send_all();
    share(without({entry::Kind::weight}));
    share(without({}));
    accept(amended(a_weight("w1", "19"), "2026-10-12T09:00"));
    EXPECT_EQ(log_.delivery("w1"), "waiting for 2");
}

// Taking a clinic out withdraws everything; putting it back must not undo that for the time between.
TEST_F(SharingTest, ClinicThatComesBackIsOwedWhatWasRecordedBefore) {
    owed_to({"juniper"});
    share_only_with({"south"});
    EXPECT_EQ(log_.delivery("w1"), "withdrawn for 1");
    accept(a_weight("w2"), {"south"});
    share_only_with({"north", "south"});
    EXPECT_EQ(owed_to({"juniper"}), 2);
    EXPECT_EQ(log_.delivery("w1"), "waiting for 1");
    EXPECT_EQ(log_.delivery("w2"), "waiting for 1");
}

TEST_F(SharingTest, ClinicThatIsGoneIsStillAskedWhatItHas) {
    owed_to({"juniper"});
    send_all();
    share_only_with({});
    EXPECT_THAT(log_.book().clinics_with_policies().value(), ElementsAre("north"));
    EXPECT_EQ(log_.book().withdrawn("north", 10).value().size(), 1u);
}

TEST_F(SharingTest, ClockThatWasPutBackDoesNotKeepNewEntriesBack) {
    share(without({entry::Kind::dose_given}));
    share(without({}));
    now_ = test_now() - 24h;
    accept(a_dose("d1"));
    EXPECT_EQ(log_.delivery("d1"), "waiting for 1");
    EXPECT_THAT(labels_of(log_.take()), testing::Contains("d1"));
}

TEST_F(SharingTest, NotesStayHereWhereThePolicySaysSo) {
    entry::SharingTerms terms = policy_for({"juniper"}).terms();
    terms.notes = false;
    share(terms);
    const Parcel parcel = log_.take().at(0);
    EXPECT_FALSE(parcel.texts.now);
    EXPECT_FALSE(parcel.texts.ever_sent);
    EXPECT_TRUE(parcel.texts.ever_left_out);
}

TEST_F(SharingTest, NotesWrittenBeforeTheyWereSharedStayHere) {
    entry::SharingTerms terms = policy_for({"juniper"}).terms();
    terms.notes = false;
    share(terms);
    terms.notes = true;
    share(terms);
    accept(a_weight("w2"));
    std::map<std::string, bool> with_texts;
    for (const Parcel& parcel : log_.take())
        with_texts[labels_of({parcel}).at(0)] = parcel.texts.now;
    EXPECT_EQ(with_texts, (std::map<std::string, bool>{{"w1", false}, {"w2", true}}));
}

TEST_F(SharingTest, PreviewShowsWhatGoesOutAndMarksNothing) {
    owed_to({"juniper"});
    accept(a_dose("d1"));
    EXPECT_THAT(labels_of(log_.outbox().preview("north", {}, 100).value()), ElementsAre("w1", "d1"));
    EXPECT_EQ(log_.delivery("w1"), "waiting for 1");
    share(without({entry::Kind::dose_given}));
    accept(a_dose("d2"));
    const std::vector<EntryId> more{id_of("d2")};
    EXPECT_THAT(labels_of(log_.outbox().preview("north", more, 100).value()), ElementsAre("w1"))
        << "by the policy that is in force";
    EXPECT_THAT(labels_of(log_.take()), ElementsAre("w1"));
}

}  // namespace

}  // namespace nightferry::logbook
