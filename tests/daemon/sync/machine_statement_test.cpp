// When the server is asked what it can do, and what is done when it does not say.
#include "tests/daemon/sync/asked.hpp"

namespace nightferry::sync {

namespace {

using namespace std::chrono_literals;
using namespace test;
using Reached = NoAnswer::Reached;

class MachineStatementTest : public testing::Test {
 protected:
    MachineStatementTest() { script_.plays_preliminaries = false; }

    bool asks() { return script_.wants<Send>() && script_.sends().target == "/metadata"; }
    void answer_recall() {
        while (script_.wants<Recall>())
            script_.give_back({});
    }
    // From its beginning to its end, with nothing to send.
    void finish_pass() {
        answer_recall();
        script_.give({});
        script_.settles();
    }

    Script script_;
};

TEST_F(MachineStatementTest, ServerIsAskedBeforeAnythingElse) {
    script_.request_pass();
    ASSERT_TRUE(asks());
    EXPECT_EQ(script_.sends().method, "GET");
    script_.answer(script_.statement);
    EXPECT_EQ(script_.manner(),
              (Manner{Carrier::transaction, Creating::on_condition, true, true, true, true}));
    EXPECT_TRUE(script_.wants<Recall>());
}

TEST_F(MachineStatementTest, WhatItSaysIsBelievedForAnHour) {
    script_.request_pass();
    script_.answer(script_.statement);
    finish_pass();
    script_.now += 59min;
    script_.request_pass();
    EXPECT_FALSE(asks());
    finish_pass();
    script_.now += 1min;
    script_.request_pass();
    EXPECT_TRUE(asks());
}

TEST_F(MachineStatementTest, PassThatHadToStopMakesTheNextOneAskAgain) {
    Script script;
    script.send_first({parcel(a_weight("w1"))});
    script.answer({401, {}, ""});
    script.settles();
    EXPECT_TRUE(script.rests());
    script.plays_preliminaries = false;
    script.request_pass();
    EXPECT_EQ(script.sends().target, "/metadata");
}

TEST_F(MachineStatementTest, ItIsAskedAgainWhenTheClockWasPutBack) {
    script_.request_pass();
    script_.answer(script_.statement);
    finish_pass();
    script_.now -= 1h;
    script_.request_pass();
    EXPECT_TRUE(asks());
}

TEST_F(MachineStatementTest, WhatCannotBeReadLeavesTheBestGuess) {
    for (const HttpAnswer& answer :
         {HttpAnswer{404, {}, R"({"resourceType":"OperationOutcome"})"}, HttpAnswer{500, {}, ""},
          HttpAnswer{401, {}, ""}, HttpAnswer{200, {}, R"({"resourceType":"Capab)"}}) {
        Script script;
        script.plays_preliminaries = false;
        script.request_pass();
        script.answer(answer);
        EXPECT_TRUE(script.wants<Recall>()) << answer.status;
        EXPECT_EQ(script.manner(), Manner{}) << answer.status;
    }
}

TEST_F(MachineStatementTest, AddressWithoutAServerForUsIsToldNoPatientsNumber) {
    const auto words_after = [](const HttpAnswer& answer) {
        Script script;
        script.plays_preliminaries = false;
        script.request_pass();
        script.answer(answer);
        const std::string words = script.settles().state.words;
        EXPECT_TRUE(script.rests()) << words;
        return words;
    };
    const auto statement = [](const std::string& types) {
        return HttpAnswer{200,
                          {},
                          R"({"resourceType":"CapabilityStatement","rest":[{"mode":"server","resource":[)" +
                              types + "]}]}"};
    };
    using testing::StartsWith;
    EXPECT_THAT(
        words_after({404, {}, ""}),
        StartsWith("stopped: there is no FHIR server at the clinic's address: HTTP 404 at /metadata"));
    EXPECT_THAT(words_after({308, {{"Location", "https://other.example/fhir"}}, ""}),
                StartsWith("stopped: the clinic's address sends us elsewhere (HTTP 308)"));
    EXPECT_THAT(words_after({200, {}, R"({"resourceType":"Patient","id":"p1"})"}),
                StartsWith("stopped: the clinic's server shows a 'Patient'"));
    // https://hl7.org/fhir/DSTU2/conformance.html
    EXPECT_THAT(words_after({200, {}, R"({"resourceType":"Conformance","fhirVersion":"1.0.2"})"}),
                StartsWith("stopped: the clinic's server says that it speaks FHIR '1.0.2' (DSTU2)"));
    EXPECT_THAT(words_after(statement(R"({"type":"Patient"})")),
                StartsWith("stopped: the clinic's server knows neither"));
}

// It may be that of a network on the way, so it is asked again, however often it takes.
TEST_F(MachineStatementTest, WebPageIsToldAndTriedAgain) {
    script_.request_pass();
    for (int times = 1; times <= 5; ++times) {
        ASSERT_TRUE(asks()) << times;
        script_.answer({200, {{"Content-Type", "text/html"}}, "<html><title>Sign in</title></html>"});
        const auto state = script_.settles().state;
        EXPECT_EQ(state.failures, times);
        EXPECT_THAT(state.words, testing::HasSubstr("HTTP 200, it says: Sign in"));
        script_.ring();
    }
    script_.answer(script_.statement);
    EXPECT_TRUE(script_.wants<Recall>());
}

TEST_F(MachineStatementTest, WhatWasLearnedBeforeIsForgottenWithANewStatement) {
    DialectScript script(sim::liar_about_transactions());
    script.send(weights(1));
    ASSERT_EQ(script.manner().carrier, Carrier::batch);
    script.now += 1h;
    EXPECT_EQ(script.send({parcel(a_weight("next"))}).at(0), "transaction of 2");
}

TEST_F(MachineStatementTest, ServerThatIsAwayIsAskedAgainAndGivenUpTheThirdTime) {
    script_.request_pass();
    for (int times = 0; times < 3; ++times) {
        ASSERT_TRUE(asks()) << times;
        script_.no_answer(Reached::no);
        script_.settles();
        script_.ring();
    }
    EXPECT_FALSE(asks());
    answer_recall();
    EXPECT_EQ(script_.takes(), 1u) << "one goes first, alone";
    EXPECT_EQ(script_.manner(), Manner{});
}

TEST_F(MachineStatementTest, ServerThatIsBusyIsLeftAloneAsLongAsItAsks) {
    script_.request_pass();
    script_.answer({503, {{"Retry-After", "120"}}, ""});
    EXPECT_EQ(script_.settles().state.failures, 1);
    EXPECT_EQ(script_.waits(), 120s);
    script_.ring();
    EXPECT_TRUE(asks());
}

TEST_F(MachineStatementTest, ServerThatIsNotTheClinicStopsThePass) {
    script_.request_pass();
    script_.no_answer(Reached::untrusted, "its certificate is for another name");
    EXPECT_EQ(script_.settles().state.words, "stopped: its certificate is for another name");
    EXPECT_TRUE(script_.rests());
}

}  // namespace

}  // namespace nightferry::sync
