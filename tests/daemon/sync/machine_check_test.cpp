// Reading back what the clinic has confirmed, before anything new goes to it.
#include "tests/daemon/sync/asked.hpp"

namespace nightferry::sync {

namespace {

using namespace std::chrono_literals;
using namespace test;
using testing::Contains;
using testing::ElementsAre;
using testing::IsEmpty;
using testing::SizeIs;
using testing::StartsWith;
using Reached = NoAnswer::Reached;

Policy with_samples(int samples) {
    Policy policy;
    policy.samples = samples;
    return policy;
}

// A clinic that has confirmed weights, one after the other: w1 with receipt number 1, and so on.
class MachineCheckTest : public testing::Test {
 protected:
    explicit MachineCheckTest(const sim::Dialect& dialect = sim::thorough()) : clinic_(dialect) {
        statement_ = clinic_.answer({"GET", "/metadata", {}, {}});
        for (int i = 1; i <= 6; ++i) {
            if (i == 4) older_ = clinic_.snapshot();  // With w1 to w3.
            confirm("w" + std::to_string(i));
        }
    }

    void confirm(const std::string& label) {
        Script script;
        script.statement = statement_;
        logbook::Parcel sent = parcel(a_weight(label));
        script.answer(clinic_.answer(script.send_first({sent})));
        sent.receipt = script.settles().settlements.at(0).receipt;
        sent.receipt->number = static_cast<std::int64_t>(kept_.size()) + 1;
        sent.receipt->written_after = sent.receipt->number - 1;
        kept_.push_back(sent);
    }
    logbook::Parcel& kept(int number) { return kept_.at(static_cast<std::size_t>(number) - 1); }
    bool remove(int number) { return clinic_.remove("Observation", kept(number).receipt->resource_id); }
    std::string place(int number) { return "Observation/" + kept(number).receipt->resource_id; }

    // What an outbox recalls: those that are confirmed, the newest first.
    std::vector<logbook::Parcel> recalled(const Recall& recall) const {
        std::vector<logbook::Parcel> found;
        for (auto it = kept_.rbegin(); it != kept_.rend() && found.size() < recall.limit; ++it) {
            const bool aside = told_.contains(it->id) && told_.at(it->id).starts_with("set aside");
            if (it->receipt->number < recall.below && !aside) found.push_back(*it);
        }
        return found;
    }

    // Plays a pass up to its first take, or until it has to wait.
    void check(Script& script) {
        script.plays_preliminaries = false;
        script.request_pass();
        check_on(script);
    }
    void check_on(Script& script) {
        for (int steps = 0; steps < 200; ++steps) {
            if (script.wants<Send>()) {
                const HttpRequest request = script.sends();
                if (request.target != "/metadata") asked_.push_back(asked(request));
                script.answer(request.target == "/metadata" ? statement_ : answer_(request));
            } else if (script.wants<Recall>()) {
                script.give_back(recalled(script.recall()));
            } else if (script.wants<Settle>()) {
                for (const logbook::Settlement& one : script.settles().settlements) {
                    told_[one.id] = told(one);
                    if (one.lost) lost_.push_back(one.id);
                }
            } else {
                return;
            }
        }
        ADD_FAILURE() << "the read-back never ends";
    }
    std::string fate(int number) { return told_[kept(number).id]; }

    sim::ModelClinic clinic_;
    HttpAnswer statement_;
    sim::ModelClinic::Snapshot older_;
    std::vector<logbook::Parcel> kept_;
    std::function<HttpAnswer(const HttpRequest&)> answer_ = [this](const HttpRequest& request) {
        return clinic_.answer(request);
    };
    // What the read-back asked and told.
    std::vector<std::string> asked_;
    std::map<EntryId, std::string> told_;
    std::vector<EntryId> lost_;
};

TEST_F(MachineCheckTest, NewestThreeAreReadBeforeAnythingIsTaken) {
    Script script({}, {}, with_samples(0));
    check(script);
    EXPECT_THAT(asked_, ElementsAre("read " + place(6), "read " + place(5), "read " + place(4)));
    EXPECT_THAT(told_, IsEmpty());
    EXPECT_EQ(script.takes(), Policy{}.deliveries_per_bundle_max);
}

// Put back to its first revision, an entry reads as it does after it was amended and amended back.
TEST_F(MachineCheckTest, AmendedAndAmendedBackProvesNothing) {
    for (std::int64_t number = 7; number <= 9; ++number) {
        logbook::Parcel again = kept_.front();
        kept_.erase(kept_.begin());
        again.earlier = {again.wanted, parcel(a_weight("another")).wanted};
        again.earlier[1].revision = 2;
        again.wanted.revision = again.receipt->revision = 3;
        again.receipt->number = number;
        again.receipt->written_after = number - 1;
        kept_.push_back(again);
    }
    clinic_.restore(older_);
    Script script({}, {}, with_samples(0));
    check(script);
    EXPECT_THAT(lost_, ElementsAre(id_of("w6"), id_of("w5"), id_of("w4")));
}

TEST_F(MachineCheckTest, AFewOfTheOthersAreReadBesides) {
    Script script({}, {}, with_samples(2));
    check(script);
    EXPECT_THAT(asked_, SizeIs(5));
    EXPECT_THAT(told_, IsEmpty());
}

TEST_F(MachineCheckTest, EmptyOutboxIsNotReadBack) {
    kept_.clear();
    Script script;
    check(script);
    EXPECT_THAT(asked_, IsEmpty());
    EXPECT_TRUE(script.wants<Take>());
}

TEST_F(MachineCheckTest, WhatAServerLostOverNightIsSentAgain) {
    clinic_.restore(older_);
    Script script({}, {}, with_samples(0));
    check(script);
    for (int number = 4; number <= 6; ++number)
        EXPECT_EQ(fate(number), "again, outcome unknown") << number;
    EXPECT_THAT(lost_, ElementsAre(kept(6).id, kept(5).id, kept(4).id));
    EXPECT_THAT(asked_, Contains("read " + place(1))) << "three in a row prove the rest";
    EXPECT_EQ(fate(3), "");
}

TEST_F(MachineCheckTest, LostEntryIsLookedForAndThenWrittenAgain) {
    clinic_.restore(older_);
    Script script({}, {}, with_samples(0));
    check(script);
    logbook::Parcel lost = kept(6);
    lost.lost = true;
    lost.outcome_unknown = true;
    asked_.clear();
    script.give({lost});
    check_on(script);
    EXPECT_THAT(asked_, ElementsAre("search Observation", "read " + place(6), "transaction of 2"));
    EXPECT_THAT(fate(6), StartsWith("confirmed"));
    EXPECT_EQ(clinic_.store().bearing("Observation", hub_system, id_of("w6").urn()).size(), 1u);
}

// A server that gives the id of what it lost to something else.
TEST_F(MachineCheckTest, SomethingElseUnderTheSameIdIsNotTheEntry) {
    clinic_.restore(older_);
    clinic_.enter(R"({"resourceType":"Observation","id":")" + kept(6).receipt->resource_id + "\"}");
    Script script({}, {}, with_samples(0));
    check(script);
    EXPECT_THAT(lost_, Contains(kept(6).id));
}

TEST_F(MachineCheckTest, WhatHasAnotherIdByNowIsNotMissing) {
    const std::string there = clinic_.duplicate("Observation", kept(6).receipt->resource_id);
    ASSERT_NE(there, "");
    ASSERT_TRUE(remove(6));
    Script script({}, {}, with_samples(0));
    check(script);
    EXPECT_THAT(asked_, Contains("search Observation"));
    EXPECT_THAT(told_, IsEmpty());
}

TEST_F(MachineCheckTest, WhatSomebodyDeletedIsSetAsideAndNotPutBack) {
    ASSERT_TRUE(remove(6));
    Script script({}, {}, with_samples(0));
    check(script);
    EXPECT_EQ(fate(6),
              "set aside: somebody at the clinic deleted what it had confirmed; it was not put back");
    EXPECT_THAT(lost_, IsEmpty());
}

// Perhaps somebody at home asked for it.
TEST_F(MachineCheckTest, DeletionOfWhatIsNotSharedAnyMoreIsNoCaseForAnybody) {
    kept(6).withheld = true;
    ASSERT_TRUE(remove(6));
    Script script({}, {}, with_samples(0));
    check(script);
    EXPECT_THAT(told_, IsEmpty());
}

TEST_F(MachineCheckTest, LossOfWhatIsNotSharedAnyMoreIsRemembered) {
    for (logbook::Parcel& one : kept_)
        one.withheld = true;
    clinic_.restore(older_);
    Script script({}, {}, with_samples(0));
    check(script);
    EXPECT_THAT(lost_, ElementsAre(kept(6).id, kept(5).id, kept(4).id));
    EXPECT_THAT(fate(6), Not(testing::HasSubstr("sent again")));
}

TEST_F(MachineCheckTest, WhatSomebodyChangedIsTheirAffair) {
    ASSERT_TRUE(clinic_.edit("Observation", kept(6).receipt->resource_id, "seen on another scale"));
    Script script({}, {}, with_samples(0));
    check(script);
    EXPECT_THAT(told_, IsEmpty());
}

// An older server whose newest entries are there has not been put back: somebody took this one out.
TEST_F(MachineCheckTest, SampleThatIsMissingAmongOthersIsSetAside) {
    answer_ = [&](const HttpRequest& request) {
        const bool of_w2 = request.target == "/" + place(2) ||
                           percent_decode(request.target).find(id_of("w2").urn()) != std::string::npos;
        if (!of_w2) return clinic_.answer(request);
        return request.target == "/" + place(2) ? HttpAnswer{404, {}, ""} : searchset({});
    };
    // The only ones that can be sampled are w2 and w1, and the largest number is drawn.
    Script script({}, {}, with_samples(1));
    script.plays_preliminaries = false;
    script.request_pass();
    script.answer(statement_);
    script.give_back(recalled(script.recall()));
    for (int reads = 0; reads < 3; ++reads)
        script.answer(answer_(script.sends()));
    EXPECT_EQ(script.recall().limit, 1u);
    script.give_back({kept(2)});
    check_on(script);
    EXPECT_EQ(fate(2), "set aside: the clinic confirmed this but no longer holds it; it was not put back");
    EXPECT_TRUE(script.wants<Take>());
}

TEST_F(MachineCheckTest, MissingOneThatWaitsWithALaterRevisionIsLeftToItsTurn) {
    remove(6);
    kept(6) = parcel(a_weight("w6"), amended(a_weight("w6", "19"), "2026-10-12T09:00"),
                     kept(6).receipt->resource_id, "1");
    kept(6).receipt->number = 6;
    Script script({}, {}, with_samples(0));
    check(script);
    EXPECT_THAT(told_, IsEmpty());
}

TEST_F(MachineCheckTest, ClinicThatIsPutBackDuringAnOutageIsReadBackWhenItReturns) {
    Script script({}, {}, with_samples(0));
    check(script);
    asked_.clear();
    script.give({parcel(a_weight("new"))});
    script.answer({503, {}, ""});
    clinic_.restore(older_);
    check_on(script);
    ASSERT_TRUE(script.wants<Wait>());
    script.ring();
    check_on(script);
    EXPECT_THAT(lost_, ElementsAre(kept(6).id, kept(5).id, kept(4).id));
    EXPECT_EQ(script.takes(), 1u) << "and only then it goes on";
}

TEST_F(MachineCheckTest, AfterAnOutageNoSamplesAreDrawn) {
    Script script({}, {}, with_samples(2));
    check(script);
    script.give({parcel(a_weight("new"))});
    script.answer({503, {}, ""});
    check_on(script);
    script.ring();
    asked_.clear();
    check_on(script);
    EXPECT_THAT(asked_, SizeIs(3));
}

TEST_F(MachineCheckTest, ClinicThatCouldNotBeReachedIsReadBackHoweverSoonItReturns) {
    Script script({}, {}, with_samples(0));
    check(script);
    asked_.clear();
    script.give({parcel(a_weight("new"))});
    script.no_answer(Reached::no);
    check_on(script);
    EXPECT_LT(script.waits(), Policy{}.silence_max);
    clinic_.restore(older_);
    script.ring();
    check_on(script);
    EXPECT_THAT(lost_, ElementsAre(kept(6).id, kept(5).id, kept(4).id));
}

// Otherwise a line that breaks at every third request would bear nothing but the reading back.
TEST_F(MachineCheckTest, WhatWasReadBackOutlivesAConnectionThatBreaks) {
    Script script({}, {}, with_samples(0));
    check(script);
    asked_.clear();
    script.give({parcel(a_weight("new"))});
    script.no_answer(Reached::perhaps);
    check_on(script);
    script.ring();
    EXPECT_TRUE(script.wants<Take>());
    EXPECT_THAT(asked_, IsEmpty());
}

TEST_F(MachineCheckTest, ReadingBackGoesOnWhereItsConnectionBroke) {
    Script script({}, {}, with_samples(0));
    script.plays_preliminaries = false;
    script.request_pass();
    script.answer(statement_);
    script.give_back(recalled(script.recall()));
    script.answer(answer_(script.sends()));
    script.no_answer(Reached::perhaps);
    check_on(script);
    script.ring();
    check_on(script);
    EXPECT_THAT(asked_, ElementsAre("read " + place(5), "read " + place(4)));
    EXPECT_TRUE(script.wants<Take>());
}

// Were they to grow with each of many readings, they would become silences.
TEST_F(MachineCheckTest, WaitsGrowOnlyWhenNothingMoreIsReadBackBetweenThem) {
    Script script({}, {}, with_samples(0));
    script.plays_preliminaries = false;
    script.request_pass();
    script.answer(statement_);
    const auto wait_after = [&](int answers) {
        script.give_back(recalled(script.recall()));
        for (int i = 0; i < answers; ++i)
            script.answer(answer_(script.sends()));
        script.no_answer(Reached::perhaps);
        script.settles();
        const auto span = script.waits();
        script.ring();
        return span;
    };
    EXPECT_EQ(wait_after(1), Policy{}.backoff_first);
    EXPECT_EQ(wait_after(1), Policy{}.backoff_first);
    EXPECT_EQ(wait_after(0), 2 * Policy{}.backoff_first);
    check_on(script);
    EXPECT_TRUE(script.wants<Take>());
}

// A clinic that answers one reading each time before it is away again is left in peace all the same.
TEST_F(MachineCheckTest, ReadingTheSameAnewIsNothingMore) {
    Script script({}, {}, with_samples(0));
    script.plays_preliminaries = false;
    script.request_pass();
    script.answer(statement_);
    auto longest = Policy{}.backoff_first;
    for (int times = 0; times < 5; ++times) {
        script.give_back(recalled(script.recall()));
        script.answer(answer_(script.sends()));
        script.no_answer(times % 2 == 0 ? Reached::perhaps : Reached::no);
        script.settles();
        longest = std::max(longest, script.waits());
        script.ring();
    }
    EXPECT_GE(longest, 8 * Policy{}.backoff_first);
}

// In so long a server can be stopped, put back and started again.
TEST_F(MachineCheckTest, ClinicThatWasNotHeardForLongIsReadBackAnew) {
    Script script({}, {}, with_samples(0));
    check(script);
    script.give({parcel(a_weight("new"))});
    script.now += Policy{}.silence_max;
    script.no_answer(Reached::perhaps, "no answer in time");
    check_on(script);
    clinic_.restore(older_);
    script.ring();
    check_on(script);
    EXPECT_THAT(lost_, ElementsAre(kept(6).id, kept(5).id, kept(4).id));
    EXPECT_EQ(script.takes(), 1u) << "and only then it goes on";
}

TEST_F(MachineCheckTest, WaitsAddUpToASilenceThoughTheClockStandsStill) {
    Script script({}, {}, with_samples(0));
    check(script);
    std::chrono::microseconds waited{0};
    while (waited < Policy{}.silence_max) {
        ASSERT_TRUE(script.wants<Take>()) << "nothing is read back after " << waited.count();
        script.give({parcel(a_weight("new"))});
        script.no_answer(Reached::perhaps);
        check_on(script);
        waited += script.waits();
        script.now -= script.waits();
        script.ring();
    }
    EXPECT_TRUE(script.wants<Recall>());
}

// A server can fail while its data are being replaced.
TEST_F(MachineCheckTest, FailingServerCountsAsSilent) {
    Script script({}, {}, with_samples(0));
    check(script);
    script.give({parcel(a_weight("new"))});
    script.answer({500, {{"Retry-After", "30"}}, ""});
    check_on(script);
    ASSERT_EQ(script.waits(), Policy{}.silence_max);
    script.ring();
    EXPECT_TRUE(script.wants<Recall>());
}

// Some clinics take what they are given and cannot be asked.
TEST_F(MachineCheckTest, ClinicThatDoesNotLetItselfBeReadIsWrittenToAllTheSame) {
    for (const int status : {403, 405, 501}) {
        answer_ = [status](const HttpRequest&) { return HttpAnswer{status, {}, ""}; };
        Script script({}, {}, with_samples(0));
        asked_.clear();
        check(script);
        for (int waits = 0; waits < 2; ++waits) {
            ASSERT_TRUE(script.wants<Wait>()) << status;
            script.ring();
            check_on(script);
        }
        EXPECT_THAT(asked_, SizeIs(3)) << status;
        EXPECT_THAT(told_, IsEmpty()) << status;
        EXPECT_TRUE(script.wants<Take>()) << status;
    }
}

// A server that breaks on every read, and takes what it is given, is given it.
TEST_F(MachineCheckTest, ReadThatFailsTimeAndAgainKeepsNothingFromBeingSent) {
    for (const int status : {500, 502, 504}) {
        answer_ = [status](const HttpRequest&) { return HttpAnswer{status, {}, ""}; };
        Script script({}, {}, with_samples(0));
        asked_.clear();
        check(script);
        for (int waits = 0; waits < 4; ++waits) {
            ASSERT_TRUE(script.wants<Wait>()) << status;
            script.ring();
            check_on(script);
        }
        EXPECT_THAT(asked_, SizeIs(5)) << status;
        EXPECT_TRUE(script.wants<Take>()) << status;
    }
}

// One that says that it is merely busy is asked again.
TEST_F(MachineCheckTest, ReadOfABusyClinicIsTriedForAsLongAsItTakes) {
    answer_ = [](const HttpRequest&) { return HttpAnswer{503, {}, ""}; };
    Script script({}, {}, with_samples(0));
    check(script);
    for (int waits = 0; waits < 20; ++waits) {
        ASSERT_TRUE(script.wants<Wait>());
        script.ring();
        check_on(script);
    }
    EXPECT_FALSE(script.wants<Take>());
}

TEST_F(MachineCheckTest, HubThatIsNoLongerKnownStopsInsteadOfReading) {
    answer_ = [](const HttpRequest&) { return HttpAnswer{401, {}, ""}; };
    Script script;
    check(script);
    EXPECT_TRUE(script.rests());
    EXPECT_THAT(asked_, SizeIs(1));
    EXPECT_THAT(told_, IsEmpty());
}

TEST_F(MachineCheckTest, ReadWithoutAnAnswerIsTriedAgainLaterAndSettlesNothing) {
    Script script({}, {}, with_samples(0));
    script.plays_preliminaries = false;
    script.request_pass();
    script.answer(statement_);
    script.give_back(recalled(script.recall()));
    script.no_answer(Reached::perhaps);
    EXPECT_THAT(script.settles().settlements, IsEmpty());
    script.ring();
    EXPECT_TRUE(script.wants<Recall>());
}

}  // namespace

}  // namespace nightferry::sync
