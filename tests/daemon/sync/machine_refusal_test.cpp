// What the machine takes a refusal for: about one entry, about all, for good, or for a while.
#include "tests/daemon/sync/asked.hpp"

namespace nightferry::sync {

namespace {

using namespace test;
using testing::ElementsAre;
using testing::StartsWith;

logbook::Parcel unsure(const std::string& label) {
    logbook::Parcel made = parcel(a_weight(label));
    made.outcome_unknown = true;
    made.attempts = 2;
    return made;
}

// Whether it searches for, or reads, anything.
bool is_a_look(const HttpRequest& request) {
    return request.method == "GET";
}

// The entry that is looked up, in a round in which one that gets through goes before it.
void play_a_round(DialectScript& script, const std::string& through, const HttpAnswer& to_looks) {
    script.request_pass(true);
    script.give({parcel(a_weight(through))});
    script.answer(script.clinic.answer(script.sends()));
    script.settles();
    script.give({unsure("looked up")});
    script.fates.clear();
    script.play([&](const HttpRequest& request) -> Reply {
        return is_a_look(request) ? to_looks : script.clinic.answer(request);
    });
}

int rounds_until_set_aside(const HttpAnswer& to_looks) {
    DialectScript script(sim::thorough());
    for (int round = 1; round < 40; ++round) {
        play_a_round(script, "through" + std::to_string(round), to_looks);
        if (script.fate("looked up").starts_with("set aside")) return round;
        EXPECT_THAT(script.fate("looked up"), StartsWith("again"));
        if (script.wants<Wait>()) script.now += script.waits();
    }
    return 0;
}

TEST(MachineRefusalTest, LookThatIsForbiddenAfterOthersGotThroughIsAboutThatEntry) {
    DialectScript script(sim::thorough());
    play_a_round(script, "through", {403, {}, ""});
    EXPECT_THAT(script.fate("looked up"), StartsWith("set aside: HTTP 403"));
    EXPECT_THAT(script.last_state.words, testing::Not(StartsWith("stopped")));
}

TEST(MachineRefusalTest, LookThatIsForbiddenBeforeAnyGotThroughStopsThePassAndIsNotFirstAgain) {
    DialectScript script(sim::thorough());
    script.request_pass();
    script.give({unsure("looked up")});
    ASSERT_EQ(asked(script.sends()), "search Observation");
    script.answer({403, {}, ""});
    const Settle settle = script.settles();
    EXPECT_THAT(told(settle), ElementsAre("again, to the back"));
    EXPECT_THAT(settle.state.words, StartsWith("stopped: HTTP 403"));
}

TEST(MachineRefusalTest, EntryThatIsLookedUpInVainAgainAndAgainIsSetAside) {
    EXPECT_EQ(rounds_until_set_aside({200, {}, "no bundle"}), 10);
    EXPECT_EQ(rounds_until_set_aside({500, {}, ""}), 10);
}

TEST(MachineRefusalTest, ServerThatSaysThatItIsBusySaysNothingOfTheEntry) {
    EXPECT_EQ(rounds_until_set_aside({503, {}, ""}), 0);
    EXPECT_EQ(rounds_until_set_aside({429, {}, ""}), 0);
}

TEST(MachineRefusalTest, WhereNothingGetsThroughNoEntryIsBlamed) {
    DialectScript script(sim::thorough());
    script.request_pass();
    for (int round = 0; round < 40; ++round) {
        script.give({unsure("looked up")});
        ASSERT_EQ(asked(script.sends()), "search Observation");
        script.answer({500, {}, ""});
        ASSERT_THAT(told(script.settles()), ElementsAre("again, to the back")) << round;
        if (script.wants<Wait>()) {
            script.ring();
        } else {
            script.request_pass(true);
        }
    }
}

// A server that is changed may understand no conditions any more; what it refuses is put right by a person.
TEST(MachineRefusalTest, ServerThatNoLongerUnderstandsConditionsIsFoundOutByThreeInARow) {
    DialectScript script(sim::thorough());
    script.send({parcel(a_weight("before"))});
    ASSERT_TRUE(script.last_state.knows_conditions);
    sim::Dialect changed = sim::rejects_conditional_create();
    changed.does.condition_status = 400;
    script.clinic = sim::ModelClinic(changed);
    for (const char* label : {"first", "second", "third"}) {
        script.send({parcel(a_weight(label))});
        EXPECT_THAT(script.fate(label), StartsWith("set aside")) << label;
    }
    EXPECT_FALSE(script.last_state.knows_conditions);
    script.send({parcel(a_weight("fourth"))});
    EXPECT_THAT(script.fate("fourth"), StartsWith("confirmed"));
}

TEST(MachineRefusalTest, OneThatIsTakenBetweenThemKeepsWhatIsKnownOfConditions) {
    DialectScript script(sim::thorough());
    const auto refused = [&](const std::string& label) {
        script.clinic.refuse([](const fhir::json::Value&) { return true; });
        script.send({parcel(a_weight(label))});
        EXPECT_THAT(script.fate(label), StartsWith("set aside"));
    };
    script.send({parcel(a_weight("before"))});
    refused("first");
    refused("second");
    script.clinic.refuse([](const fhir::json::Value&) { return false; });
    script.send({parcel(a_weight("between"))});
    refused("third");
    EXPECT_TRUE(script.last_state.knows_conditions);
}

// An address that leads nowhere for a while is not what the server can do.
TEST(MachineRefusalTest, WhatTheServerSaysItOffersIsTriedAgainTwice) {
    DialectScript script(sim::thorough());
    script.request_pass();
    std::vector<std::string> first;
    for (int round = 0; round < 5; ++round) {
        script.give({parcel(a_weight("w" + std::to_string(round)))});
        script.requests.clear();
        script.play([&](const HttpRequest& request) -> Reply {
            return is_a_look(request) ? script.clinic.answer(request) : HttpAnswer{404, {}, ""};
        });
        first.push_back(asked(script.requests.at(0)));
        if (script.wants<Wait>()) {
            script.ring();
        } else {
            script.request_pass(true);
        }
    }
    EXPECT_THAT(first, ElementsAre("transaction of 2", "transaction of 2", "transaction of 2",
                                   "create Observation, on condition", "create Observation, on condition"));
}

// A gateway's page, or a login's, that comes with a status of success.
const HttpAnswer page{200, {{"Content-Type", "text/html"}, {"ETag", "\"5\""}}, "<html>Welcome</html>"};

TEST(MachineRefusalTest, PageOnTheWayIsNoConfirmationOfAnUpdate) {
    for (const bool is_empty : {false, true}) {
        DialectScript script(sim::single_only());
        script.send({parcel(a_weight("w"))});
        auto second = parcel(a_weight("w"), amended(a_weight("w", "18.6"), "2026-10-12T09:00"),
                             std::string(script.clinic.store().all("Observation").at(0)->id), "1");
        script.fates.clear();
        script.requests.clear();
        script.request_pass();
        script.takes();
        script.give({second});
        bool was_answered = false;
        script.play([&](const HttpRequest& request) -> Reply {
            const bool is_update = request.method == "PUT" && request.target.starts_with("/Observation");
            if (!is_update || std::exchange(was_answered, true)) return script.clinic.answer(request);
            return is_empty ? HttpAnswer{200, {}, ""} : page;
        });
        EXPECT_TRUE(was_answered);
        EXPECT_THAT(script.fate("w"), StartsWith("confirmed"));
        EXPECT_EQ(script.clinic.store().all("Observation").at(0)->history.size(), 2u)
            << "it was written after all";
    }
}

TEST(MachineRefusalTest, PageOnTheWayIsNoConfirmationOfAProvenance) {
    DialectScript script(sim::single_only());
    script.send_first({parcel(a_weight("w"))});
    script.answer(script.clinic.answer(script.sends()));
    ASSERT_EQ(asked(script.sends()), "update Provenance");
    script.answer(page);
    EXPECT_THAT(told(script.settles()), ElementsAre("again, outcome unknown, to the back"));
}

}  // namespace

}  // namespace nightferry::sync
