// How the machine puts requests to servers that can do less, or other, than the best, and what it learns.
#include "tests/daemon/sync/asked.hpp"

namespace nightferry::sync {

namespace {

using namespace test;
using testing::Each;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::StartsWith;

sim::Dialect claiming(sim::Dialect dialect, const std::function<void(sim::Claims&)>& change) {
    change(dialect.claims);
    return dialect;
}

TEST(MachineMannerTest, BatchCarriesTheEntriesAndAnotherTheirProvenance) {
    DialectScript script(sim::no_transactions());
    EXPECT_THAT(script.send(weights(3)), ElementsAre("batch of 3", "batch of 3"));
    EXPECT_EQ(script.last_state.pass_confirmed, 3);
    EXPECT_EQ(script.clinic.store().count("Provenance"), 3u);
    const auto weight = script.clinic.store().all("Observation").at(0);
    EXPECT_EQ(text_at(script.clinic.store().all("Provenance").at(0)->text(), "target/0/reference"),
              weight->place());
}

TEST(MachineMannerTest, SingleRequestsAreEachFollowedByTheirProvenance) {
    DialectScript script(sim::single_only());
    EXPECT_THAT(script.send(weights(2)),
                ElementsAre("create Observation, on condition", "update Provenance",
                            "create Observation, on condition", "update Provenance"));
    EXPECT_EQ(script.last_state.pass_confirmed, 2);
}

TEST(MachineMannerTest, ServerWithoutProvenanceGetsNone) {
    DialectScript script(sim::no_provenance());
    EXPECT_THAT(script.send(weights(2)), ElementsAre("transaction of 2"));
    EXPECT_EQ(script.last_state.pass_confirmed, 2);
    EXPECT_EQ(script.words_of("w0"), "");
}

TEST(MachineMannerTest, TransactionsThatAreClaimedAndNotOfferedAreNotTriedTwice) {
    DialectScript script(sim::liar_about_transactions());
    EXPECT_THAT(script.send(weights(2)), ElementsAre("transaction of 4", "batch of 2", "batch of 2"));
    EXPECT_EQ(script.manner().carrier, Carrier::batch);
    EXPECT_THAT(script.send({parcel(a_weight("next"))}), ElementsAre("batch of 1", "update Provenance"));
}

TEST(MachineMannerTest, ServerThatSaysNothingAndTakesNoBundlesIsServedSingly) {
    sim::Dialect dialect = sim::single_only();
    dialect.claims.metadata = sim::Metadata::absent;
    DialectScript script(dialect);
    // Its words may be about the entry as well, so each way has to be refused by itself.
    EXPECT_THAT(script.send(weights(1)),
                ElementsAre("transaction of 2", "search Observation", "create Observation, on condition",
                            "update Provenance"));
    EXPECT_THAT(script.fate("w0"), StartsWith("confirmed"));
    EXPECT_THAT(script.send({parcel(a_weight("second"))}),
                ElementsAre("batch of 1", "search Observation", "create Observation, on condition",
                            "update Provenance"));
    EXPECT_EQ(script.manner().carrier, Carrier::single);
    EXPECT_THAT(script.send({parcel(a_weight("third"))}),
                ElementsAre("create Observation, on condition", "update Provenance"));
    EXPECT_THAT(script.fate("third"), StartsWith("confirmed"));
}

TEST(MachineMannerTest, BundlesThatAreRefusedWhereTheEntryAloneIsTakenAreGivenUp) {
    sim::Dialect dialect = claiming(sim::no_transactions(), [](auto& claims) { claims.transaction = true; });
    dialect.does.no_bundle_status = 400;
    DialectScript script(dialect);
    EXPECT_THAT(script.send(weights(1)),
                ElementsAre("transaction of 2", "create Observation, on condition", "update Provenance"));
    EXPECT_EQ(script.manner().carrier, Carrier::batch);
    EXPECT_THAT(script.fate("w0"), StartsWith("confirmed"));
}

TEST(MachineMannerTest, EntryRefusedInABundleIsTriedAloneAndThenWithoutItsCondition) {
    DialectScript script(sim::thorough());
    script.clinic.refuse([](const fhir::json::Value& resource) {
        return resource.string_at("resourceType") == "Observation";
    });
    EXPECT_THAT(script.send(weights(1)), ElementsAre("transaction of 2", "create Observation, on condition",
                                                     "search Observation", "create Observation"));
    EXPECT_THAT(script.fate("w0"), StartsWith("set aside: HTTP 422 refused by the clinic's rules"));
    EXPECT_EQ(script.manner().creating, Creating::on_condition) << "it was not the condition";
    EXPECT_EQ(script.manner().carrier, Carrier::transaction) << "nor the bundle";
}

// What may still arrive has no condition, and so is waited for; whatever else there is has one as ever.
TEST(MachineMannerTest, TryWithoutAConditionThatIsNotAnsweredChangesNothingForOthers) {
    DialectScript script(sim::thorough());
    script.clinic.refuse([](const fhir::json::Value&) { return true; });
    script.request_pass();
    script.give(weights(1));
    bool is_told = false;
    while (script.wants<Settle>() || asked(script.sends()) != "create Observation") {
        if (script.wants<Settle>()) {
            is_told = script.settles().state.unguarded;
        } else {
            script.answer(script.clinic.answer(script.sends()));
        }
    }
    EXPECT_TRUE(is_told) << "the next process has to know, should this one end here";
    script.no_answer(NoAnswer::Reached::perhaps);
    script.settles();
    script.ring();
    script.give({parcel(a_weight("next"))});
    EXPECT_EQ(asked(script.sends()), "transaction of 2");
    script.no_answer(NoAnswer::Reached::no);
    script.settles();
    script.ring();
    auto unanswered = weights(1);
    unanswered[0].outcome_unknown = true;
    script.give(unanswered);
    script.settles();
    EXPECT_EQ(script.waits(), Policy{}.quiet);
}

TEST(MachineMannerTest, TryWithoutAConditionThatIsAnsweredLeavesNothingToWaitFor) {
    DialectScript script(sim::thorough());
    script.clinic.refuse([](const fhir::json::Value&) { return true; });
    EXPECT_THAT(script.send(weights(1)), testing::Contains("create Observation"));
    EXPECT_THAT(script.fate("w0"), StartsWith("set aside"));
    EXPECT_FALSE(script.last_state.unguarded);
}

TEST(MachineMannerTest, ConditionsThatAreRefusedAreNotTriedTwice) {
    sim::Dialect dialect =
        claiming(sim::rejects_conditional_create(), [](auto& claims) { claims.conditional_create = true; });
    for (const int status : {400, 412}) {
        dialect.does.condition_status = status;
        DialectScript script(dialect);
        const auto first = script.send(weights(1));
        EXPECT_THAT(script.fate("w0"), StartsWith("confirmed")) << status;
        EXPECT_EQ(script.manner().creating, Creating::after_a_look) << status;
        EXPECT_THAT(script.send({parcel(a_weight("next"))}).at(0), "search Observation") << status;
        EXPECT_THAT(script.fate("next"), StartsWith("confirmed")) << status;
        EXPECT_EQ(script.clinic.store().count("Observation"), 2u) << status;
    }
}

// Whatever it is refused for; the resource itself is there.
TEST(MachineMannerTest, ProvenanceThatIsRefusedBehindItsResourceIsToldAndTheEntryConfirmed) {
    for (sim::Dialect dialect : {sim::no_transactions(), sim::single_only()}) {
        dialect.does.keeps_provenance = false;
        for (const int status : {403, 404, 422}) {
            dialect.does.unsupported_status = status;
            DialectScript script(dialect);
            script.send(weights(2));
            for (const char* label : {"w0", "w1"}) {
                EXPECT_THAT(script.fate(label), StartsWith("confirmed Observation/")) << status;
                EXPECT_THAT(script.words_of(label),
                            StartsWith("the clinic took the record but not its Provenance: HTTP " +
                                       std::to_string(status)));
            }
        }
    }
}

TEST(MachineMannerTest, ProvenanceForWhichBundlesAreRefusedIsLeftOutOfTheNext) {
    sim::Dialect dialect = claiming(sim::no_provenance(), [](auto& claims) { claims.provenance = true; });
    dialect.does.unsupported_status = 422;
    DialectScript script(dialect);
    EXPECT_THAT(script.send(weights(1)),
                ElementsAre("transaction of 2", "create Observation, on condition", "update Provenance"));
    EXPECT_THAT(script.words_of("w0"), HasSubstr("but not its Provenance"));
    EXPECT_FALSE(script.manner().takes_provenance);
    EXPECT_THAT(script.send({parcel(a_weight("next"))}), ElementsAre("transaction of 1"));
}

TEST(MachineMannerTest, ProvenanceThatCannotBeWrittenNowIsTriedAgainWithItsEntry) {
    DialectScript script(sim::single_only());
    script.send_first(weights(1));
    script.answer(script.clinic.answer(script.sends()));
    ASSERT_EQ(asked(script.sends()), "update Provenance");
    script.answer({500, {}, ""});
    EXPECT_THAT(told(script.settles()), ElementsAre("again, outcome unknown, to the back"));
}

TEST(MachineMannerTest, ProvenanceThatFailsAgainAndAgainDoesNotKeepItsEntryFromBeingConfirmed) {
    auto often_tried = weights(1);
    often_tried[0].attempts = 5;
    DialectScript script(sim::single_only());
    script.send_first(often_tried);
    script.answer(script.clinic.answer(script.sends()));
    script.answer({500, {}, ""});
    const Settle settle = script.settles();
    EXPECT_THAT(told(settle), Each(StartsWith("confirmed")));
    EXPECT_THAT(settle.settlements.at(0).words, HasSubstr("but not its Provenance: HTTP 500"));
}

TEST(MachineMannerTest, WithoutConditionsALookComesFirstAndThenAnIdOfOurOwn) {
    DialectScript script(sim::no_conditional_create());
    EXPECT_THAT(script.send(weights(1)), ElementsAre("search Observation", "transaction of 2"));
    const SentEntry sent = entries_in(script.requests.back()).at(0);
    EXPECT_EQ(sent.method + " " + sent.url, "PUT Observation/" + id_of("w0").to_string());
    EXPECT_EQ(text_at(sent.resource, "id"), id_of("w0").to_string());
    EXPECT_EQ(sent.if_none_exist, "");
    EXPECT_THAT(script.fate("w0"), StartsWith("confirmed Observation/" + id_of("w0").to_string()));
}

TEST(MachineMannerTest, WithoutIdsOfOurOwnALookComesFirstAndThenAPlainCreate) {
    sim::Dialect dialect = sim::no_conditional_create();
    dialect.does.update_create = false;
    dialect.claims = sim::honest_claims(dialect.does);
    DialectScript script(dialect);
    EXPECT_THAT(script.send(weights(1)), ElementsAre("search Observation", "transaction of 1"));
    const SentEntry sent = entries_in(script.requests.back()).at(0);
    EXPECT_EQ(sent.method + " " + sent.url, "POST Observation");
    EXPECT_EQ(sent.if_none_exist, "");
    EXPECT_THAT(script.fate("w0"), StartsWith("confirmed"));
}

TEST(MachineMannerTest, WhatALookFindsIsNotCreatedASecondTime) {
    DialectScript script(sim::no_conditional_create());
    script.send(weights(1));
    auto lost_answer = weights(1);
    lost_answer[0].attempts = 2;
    DialectScript later(sim::no_conditional_create());
    later.clinic = script.clinic;
    EXPECT_THAT(later.send(lost_answer), ElementsAre("search Observation"));
    EXPECT_THAT(later.fate("w0"), StartsWith("confirmed"));
    EXPECT_EQ(later.clinic.store().count("Observation"), 1u);
}

TEST(MachineMannerTest, WhatWasFoundInsteadOfCreatedIsReadAtThePlaceThatTheServerNamed) {
    sim::Dialect dialect =
        claiming(sim::empty_search(), [](auto& claims) { claims.search_by_identifier = true; });
    DialectScript first(dialect);
    first.send(weights(1));
    DialectScript script(dialect);
    script.clinic = first.clinic;
    const std::string place = script.clinic.store().all("Observation").at(0)->place();
    EXPECT_THAT(script.send(weights(1)), ElementsAre("transaction of 2", "read " + place));
    EXPECT_THAT(script.fate("w0"), StartsWith("confirmed " + place));
}

// A clinic that has let others through means this one entry.
TEST(MachineMannerTest, WhatIsForbiddenAfterOthersGotThroughIsSetAsideAndStopsNobody) {
    DialectScript script(sim::thorough());
    script.request_pass();
    script.takes();
    script.give({parcel(a_weight("w1"))});
    script.answer(script.clinic.answer(script.sends()));
    script.settles();
    script.give({parcel(a_weight("w2")), parcel(a_weight("w3"))});
    script.play([&](const HttpRequest& request) -> Reply {
        if (request.method == "POST" && carries(request, "w2")) return HttpAnswer{403, {}, ""};
        return script.clinic.answer(request);
    });
    EXPECT_THAT(script.fate("w2"), StartsWith("set aside: HTTP 403"));
    EXPECT_THAT(script.fate("w3"), StartsWith("confirmed"));
    EXPECT_THAT(script.last_state.words, testing::Not(StartsWith("stopped")));
}

TEST(MachineMannerTest, WhatWasOnlyTakenInIsConfirmedOnceItIsFoundThere) {
    DialectScript script(sim::asynchronous());
    script.send(weights(1));
    EXPECT_EQ(script.fate("w0"), "again, outcome unknown");
    EXPECT_THAT(script.words_of("w0"), HasSubstr("has not done it yet"));
    script.clinic.apply_pending();
    script.fates.clear();
    script.ring();
    auto unsure = weights(1);
    unsure[0].outcome_unknown = true;
    script.give(unsure);
    script.play_on();
    EXPECT_THAT(script.fate("w0"), StartsWith("confirmed"));
    EXPECT_EQ(script.clinic.store().count("Observation"), 1u);
}

}  // namespace

}  // namespace nightferry::sync
