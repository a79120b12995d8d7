// Every decision of sending to one clinic, played one event at a time.
#include "daemon/sync/machine.hpp"

#include "tests/daemon/sync/script.hpp"

namespace nightferry::sync {

namespace {

using namespace std::chrono_literals;
using namespace test;
using testing::AllOf;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;
using testing::StartsWith;
using Reached = NoAnswer::Reached;

// Answers all but transactions that carry one entry, which it refuses.
Script::World refusing(Clinic& clinic, const std::string& label, int status = 422) {
    return [&clinic, label, status](const HttpRequest& request) -> Reply {
        if (request.method == "POST" && carries(request, label)) return outcome(status, "I will not have it");
        return clinic.answer(request);
    };
}

// A weight whose first revision the clinic got, and which was corrected since.
struct Corrected {
    explicit Corrected(const std::string& resource_id = "n1", const std::string& version = "1") {
        Script first;
        first.send_first({parcel(record)});
        first.play(clinic);
        sent = parcel(record, amendment, resource_id, version);
    }
    entry::Submission record = a_weight("w1", "18.4");
    entry::Submission amendment = amended(a_weight("w1", "18.6"), "2026-10-12T09:00");
    Clinic clinic;
    logbook::Parcel sent;
};

const std::vector<PatientToFind> juniper{{"juniper", "https://clinic.example/numbers", "T-1"}};

std::string patient(const std::string& id) {
    return R"({"resourceType":"Patient","id":")" + id +
           R"(","identifier":[{"system":"https://clinic.example/numbers","value":"T-1"}]})";
}

// The answer to a Provenance, from a server that does not say where it put it.
const std::string beside = R"({"response":{"status":"201"}})";

TEST(SyncMachineTest, EmptyOutboxEndsThePass) {
    Script script;
    script.request_pass();
    EXPECT_EQ(script.takes(), Policy{}.deliveries_per_bundle_max);
    script.give({});
    const Settle settle = script.settles();
    EXPECT_THAT(settle.settlements, IsEmpty());
    EXPECT_EQ(settle.state.pass_started, script.now);
    EXPECT_EQ(settle.state.pass_ended, script.now);
    EXPECT_EQ(settle.state.words, "nothing was waiting");
    EXPECT_TRUE(script.rests());
}

TEST(SyncMachineTest, EachEntryTravelsWithItsProvenanceAndACondition) {
    Script script;
    const HttpRequest request = script.send_first({parcel(a_dose("d1")), parcel(a_weight("w1"))});
    EXPECT_EQ(request.method, "POST");
    EXPECT_EQ(request.target, "");
    EXPECT_EQ(header(request.headers, "Content-Type"), "application/fhir+json");
    EXPECT_EQ(header(request.headers, "Accept"), "application/fhir+json");
    const auto entries = entries_in(request);
    ASSERT_THAT(entries, SizeIs(4));
    EXPECT_EQ(entries[0].method + " " + entries[0].url, "POST MedicationAdministration");
    EXPECT_EQ(entries[2].method + " " + entries[2].url, "POST Observation");
    for (const std::size_t i : {0u, 2u}) {
        const std::string label = i == 0 ? "d1" : "w1";
        EXPECT_THAT(percent_decode(entries[i].if_none_exist),
                    "identifier=" + hub_system + "|" + id_of(label).urn());
        EXPECT_EQ(text_at(entries[i].resource, "identifier/0/value"), id_of(label).urn());
        EXPECT_EQ(text_at(entries[i].resource, "subject/reference"), "Patient/p1");
        EXPECT_EQ(entries[i + 1].method, "PUT");
        EXPECT_THAT(entries[i + 1].url, StartsWith("Provenance/"));
        EXPECT_EQ(text_at(entries[i + 1].resource, "target/0/reference"), entries[i].full_url);
    }
}

TEST(SyncMachineTest, ConfirmedEntriesKeepWhereTheClinicPutThem) {
    Script script;
    Clinic clinic;
    const HttpRequest request = script.send_first({parcel(a_dose("d1")), parcel(a_weight("w1"))});
    script.answer(clinic.answer(request));
    EXPECT_THAT(told(script.settles()), ElementsAre("confirmed MedicationAdministration/n1/_history/1",
                                                    "confirmed Observation/n2/_history/1"));
    script.takes();
    script.give({});
    const Settle last = script.settles();
    EXPECT_EQ(last.state.pass_confirmed, 2);
    EXPECT_EQ(last.state.pass_set_aside, 0);
    EXPECT_TRUE(script.rests());
}

TEST(SyncMachineTest, PatientIsSearchedFirstAndThenTheSubject) {
    Script script(juniper);
    script.request_pass();
    const HttpRequest search = script.sends();
    EXPECT_EQ(search.method, "GET");
    EXPECT_EQ(percent_decode(search.target), "/Patient?identifier=https://clinic.example/numbers|T-1");
    EXPECT_EQ(search.body, "");
    script.answer(searchset({patient("p7")}));
    script.takes();
    script.give({parcel(a_weight("w1"))});
    EXPECT_EQ(script.settles().state.patients.at("juniper").reference, "Patient/p7") << "before it is used";
    EXPECT_EQ(text_at(entries_in(script.sends()).at(0).resource, "subject/reference"), "Patient/p7");
}

// What the machine says of a person it leaves out, when nothing waits for anybody else.
std::string left_out_words(Script& script) {
    EXPECT_THAT(script.leaves_out(), ElementsAre("juniper"));
    script.give({});
    const Settle settle = script.settles();
    EXPECT_THAT(settle.settlements, IsEmpty());
    EXPECT_TRUE(script.rests());
    return settle.state.words;
}

TEST(SyncMachineTest, NothingIsSentForAPersonWithNoneOrTwoPatients) {
    for (const auto& [found, words] : std::map<std::vector<std::string>, std::string>{
             {{}, "no patient"}, {{patient("p1"), patient("p2")}, "2 patients"}}) {
        Script script(juniper);
        script.request_pass();
        script.answer(searchset(found));
        EXPECT_EQ(left_out_words(script),
                  "nothing else was waiting; nothing is sent for 'juniper', since the clinic knows " + words +
                      " by the identifier in the settings; exactly one is needed");
    }
}

// A search result may count more than it lists (https://hl7.org/fhir/R4/bundle.html#searchset).
TEST(SyncMachineTest, PatientsThatAreOnlyCountedCountToo) {
    Script script(juniper);
    script.request_pass();
    HttpAnswer answer = searchset({patient("p1")});
    answer.body.insert(answer.body.rfind('}'), R"(,"total":2)");
    script.answer(answer);
    EXPECT_THAT(left_out_words(script), HasSubstr("knows more patients than it shows"));
}

TEST(SyncMachineTest, AnAnswerThatIsNotTheOneSearchedForIsNeverTakenForThePatient) {
    for (const char* answer :
         {R"({"resourceType":"Patient","id":"p9","identifier":[{"system":"s","value":"other"}]})",
          R"({"resourceType":"Patient","id":"p9"})"}) {
        Script script(juniper);
        script.request_pass();
        script.answer(searchset({answer}));
        EXPECT_THAT(left_out_words(script), HasSubstr("does not bear the identifier"));
    }
}

TEST(SyncMachineTest, UnknownPatientHoldsUpNobodyElse) {
    for (const bool unknown_first : {false, true}) {
        std::vector<PatientToFind> two{juniper.front(), {"rowan", "https://clinic.example/numbers", "T-2"}};
        if (unknown_first) std::swap(two[0], two[1]);
        Clinic clinic;
        const std::string juniper_there = clinic.take_up(juniper.front().system, "T-1");
        Script script(two);
        script.request_pass();
        for (int searches = 0; searches < 2; ++searches)
            script.answer(clinic.answer(script.sends()));
        EXPECT_THAT(script.leaves_out(), ElementsAre("rowan"));
        script.give({parcel(a_weight("w1"))});
        script.settles();
        EXPECT_EQ(text_at(entries_in(script.sends()).at(0).resource, "subject/reference"), juniper_there);
        script.play(clinic);
        EXPECT_THAT(script.fates[id_of("w1")], StartsWith("confirmed"));
        EXPECT_THAT(script.last_state.words,
                    StartsWith("everything else that waited was sent; nothing is sent for 'rowan', since "));
        EXPECT_TRUE(script.rests());
    }
}

TEST(SyncMachineTest, RefusedPatientSearchLeavesOutThatPersonOnly) {
    Script script(juniper);
    script.request_pass();
    script.answer(outcome(422, "no such number system"));
    EXPECT_THAT(left_out_words(script),
                AllOf(HasSubstr("nothing is sent for 'juniper'"), HasSubstr("no such number system")));
}

TEST(SyncMachineTest, PatientSearchThatConcernsTheWholeClinicStopsThePass) {
    for (const HttpAnswer& answer :
         {HttpAnswer{401, {}, ""}, HttpAnswer{403, {}, ""}, HttpAnswer{200, {}, "no bundle"}}) {
        Script script(juniper);
        script.request_pass();
        script.answer(answer);
        EXPECT_THAT(script.settles().state.words, StartsWith("stopped: ")) << answer.status;
        EXPECT_TRUE(script.rests()) << answer.status;
    }
}

TEST(SyncMachineTest, PersonLeftOutIsSearchedAgainInTheNextPass) {
    Script script(juniper);
    script.request_pass();
    script.answer(searchset({}));
    left_out_words(script);
    script.request_pass();
    script.answer(searchset({patient("p7")}));
    EXPECT_THAT(script.leaves_out(), IsEmpty());
    script.give({parcel(a_weight("w1"))});
    EXPECT_EQ(script.settles().state.patients.at("juniper").reference, "Patient/p7") << "before it is used";
    EXPECT_EQ(text_at(entries_in(script.sends()).at(0).resource, "subject/reference"), "Patient/p7");
}

// Whatever the outbox hands out: a patient that an earlier pass found is not used once it is not found.
TEST(SyncMachineTest, PatientOfAnEarlierPassIsForgottenWhenItIsNotFoundAgain) {
    Script script(juniper);
    script.request_pass();
    script.answer(searchset({patient("p7")}));
    script.give({});
    script.settles();
    script.request_pass();
    script.answer(searchset({patient("p7"), patient("p8")}));
    script.give({parcel(a_weight("w1"))});
    EXPECT_THAT(told(script.settles()),
                ElementsAre("set aside: the settings give no patient for this person at this clinic"));
}

TEST(SyncMachineTest, PatientSearchThatFailsIsAskedAgainLater) {
    Script script(juniper);
    script.request_pass();
    script.answer({503, {}, ""});
    script.settles();
    script.ring();
    EXPECT_THAT(script.sends().target, StartsWith("/Patient?"));
    script.answer(searchset({patient("p7")}));
    EXPECT_EQ(script.takes(), 1u);
}

TEST(SyncMachineTest, RefusedBundleIsHalvedDownToTheCulprit) {
    // Halving 50 down to one takes 6 steps; a step costs at most the refused half and the other one. The
    // culprit is then tried by itself, looked for, and tried without a condition.
    constexpr int count = 50;
    for (int culprit = 0; culprit < count; ++culprit) {
        const std::string label = "w" + std::to_string(culprit);
        Script script;
        Clinic clinic;
        script.send_first(weights(count));
        script.play(refusing(clinic, label, 400));
        ASSERT_THAT(script.fates, SizeIs(count));
        for (const auto& [id, fate] : script.fates) {
            if (id == id_of(label)) {
                EXPECT_EQ(fate, "set aside: HTTP 400 bad request, the clinic says: I will not have it");
            } else {
                EXPECT_THAT(fate, StartsWith("confirmed"));
            }
        }
        EXPECT_LE(script.requests.size(), 1 + 2 * 6 + 3u) << "culprit " << culprit;
        EXPECT_EQ(script.last_state.pass_set_aside, 1);
        EXPECT_TRUE(script.rests());
    }
}

TEST(SyncMachineTest, CulpritOnceFoundDoesNotMakeTheNextBundlesSmall) {
    Script script;
    Clinic clinic;
    script.send_first(weights(8));
    script.play(refusing(clinic, "w5"));
    EXPECT_EQ(script.limits.back(), Policy{}.deliveries_per_bundle_max);
}

TEST(SyncMachineTest, PassThatSetSomethingAsideSaysSo) {
    Script script;
    Clinic clinic;
    script.send_first(weights(2));
    script.play(refusing(clinic, "w1"));
    EXPECT_THAT(script.last_state.words, StartsWith("everything that waited was sent, but 1"));
}

TEST(SyncMachineTest, BundleTooLargeTeachesTheLimitForThisPass) {
    const auto at_most_three = [](Clinic& clinic) {
        return [&clinic](const HttpRequest& request) -> Reply {
            if (entries_in(request).size() > 6) return HttpAnswer{413, {}, ""};
            return clinic.answer(request);
        };
    };
    Script script({}, {}, {8, 2s, 30min});
    Clinic clinic;
    script.send_first(weights(8));
    script.play(at_most_three(clinic));
    EXPECT_THAT(script.fates, SizeIs(8));
    for (const auto& [id, fate] : script.fates)
        EXPECT_THAT(fate, StartsWith("confirmed"));
    EXPECT_EQ(script.limits.back(), 3u) << "one more is tried after each bundle that is taken whole";
    script.request_pass();
    EXPECT_EQ(script.takes(), 6u) << "the next pass tries twice as many";
}

TEST(SyncMachineTest, UnavailableClinicIsLeftAloneAsLongAsItAsksAndThenProbedWithOne) {
    Script script;
    Clinic clinic;
    script.send_first(weights(3));
    script.answer({503, {{"Retry-After", "120"}}, ""});
    const Settle settle = script.settles();
    EXPECT_THAT(told(settle), testing::Each("again, outcome unknown, to the back"));
    EXPECT_EQ(settle.state.failures, 1);
    EXPECT_EQ(settle.state.not_before, script.now + 120s);
    EXPECT_EQ(settle.state.words, "HTTP 503 unavailable");
    EXPECT_EQ(script.waits(), 120s);
    script.ring();
    EXPECT_EQ(script.takes(), 1u);
    script.give({parcel(a_weight("w0"))});
    script.answer(clinic.answer(script.sends()));
    EXPECT_EQ(script.settles().state.failures, 0);
    EXPECT_EQ(script.takes(), Policy{}.deliveries_per_bundle_max);
}

TEST(SyncMachineTest, WaitsGrowWhileTheClinicFails) {
    Script script;
    script.request_pass();
    for (const auto expected : {2s, 4s, 8s, 16s}) {
        script.takes();
        script.give(weights(1));
        script.answer({503, {}, ""});
        script.settles();
        EXPECT_EQ(script.waits(), expected);
        script.ring();
    }
}

TEST(SyncMachineTest, ShortRetryAfterDoesNotShortenOurOwnWait) {
    Script script({}, logbook::ClinicState{5, {}, {}, {}, {}, 0, 0, {}});
    script.send_first(weights(1));
    script.answer({429, {{"Retry-After", "1"}}, ""});
    EXPECT_THAT(told(script.settles()), ElementsAre("again")) << "a 429 did not act";
    EXPECT_EQ(script.waits(), 64s);
}

TEST(SyncMachineTest, UnansweredRequestLeavesTheOutcomeUnknown) {
    Script sent;
    sent.send_first(weights(2));
    sent.no_answer(Reached::perhaps);
    const Settle settle = sent.settles();
    EXPECT_THAT(told(settle), testing::Each("again, outcome unknown, to the back"));
    EXPECT_EQ(settle.settlements[0].words, "the line is dead");
    Script unsent;
    unsent.send_first(weights(2));
    unsent.no_answer(Reached::no);
    EXPECT_THAT(told(unsent.settles()), testing::Each("again"));
}

TEST(SyncMachineTest, ServerFailureSendsWhatItMetToTheBackAndNothingElse) {
    Script script;
    script.send_first(weights(4));
    script.answer({413, {}, ""});
    EXPECT_THAT(entries_in(script.sends()), SizeIs(4)) << "two entries, each with its Provenance";
    script.answer({500, {}, ""});
    EXPECT_THAT(told(script.settles()), ElementsAre("again, outcome unknown, to the back",
                                                    "again, outcome unknown, to the back", "again", "again"));
}

TEST(SyncMachineTest, WhatOnlyAPersonCanMendStopsThePassAndNothingIsLost) {
    Script untrusted;
    untrusted.send_first(weights(2));
    untrusted.no_answer(Reached::untrusted, "its certificate is for another name");
    const Settle settle = untrusted.settles();
    EXPECT_THAT(told(settle), ElementsAre("again", "again"));
    EXPECT_EQ(settle.state.words, "stopped: its certificate is for another name");
    EXPECT_TRUE(untrusted.rests());
    for (const int status : {301, 401, 403, 415}) {
        Script script;
        script.send_first(weights(2));
        script.answer({status, {}, ""});
        const Settle stopped = script.settles();
        // Whoever answers with a redirection may have acted.
        const std::string again = status == 301   ? "again, outcome unknown"
                                  : status == 403 ? "again, to the back"  // Others may be permitted.
                                                  : "again";
        EXPECT_THAT(told(stopped), ElementsAre(again, again)) << status;
        EXPECT_THAT(stopped.state.words,
                    AllOf(StartsWith("stopped: "), HasSubstr("HTTP " + std::to_string(status))));
        EXPECT_EQ(stopped.state.pass_ended, script.now);
        EXPECT_TRUE(script.rests()) << status;
    }
}

// The Date header: RFC 9110 section 6.6.1. The test's clock shows 2 November 2026, 12:00 UTC.
TEST(SyncMachineTest, ClockThatDiffersFromTheClinicsIsInDoubtAndToldInWords) {
    const auto pass_at = [](const std::string& date) {
        Script script;
        script.statement.headers.emplace_back("Date", date);
        script.request_pass();
        script.takes();
        script.give({});
        return script.settles().state;
    };
    EXPECT_EQ(pass_at("Mon, 02 Nov 2026 12:00:00 GMT").skew, 0s);
    EXPECT_EQ(pass_at("Mon, 02 Nov 2026 12:04:00 GMT").words, "nothing was waiting");
    EXPECT_THAT(pass_at("Mon, 02 Nov 2026 12:30:00 GMT").words,
                HasSubstr("this hub's clock is 30 minutes behind the clinic's"));
    EXPECT_THAT(pass_at("Mon, 02 Nov 2026 11:00:00 GMT").words,
                HasSubstr("this hub's clock is 60 minutes ahead of the clinic's"));
    EXPECT_EQ(pass_at("no date at all").skew, 0s);
}

// What is not offered as a bundle is tried in smaller ways, and only then it is the address that is wrong.
TEST(SyncMachineTest, AddressWhereNothingIsOfferedStopsThePass) {
    for (const int status : {404, 405, 501}) {
        Script script;
        script.statement = outcome(404, "no such address");
        script.send_first(weights(2));
        script.play([&](const HttpRequest&) -> Reply { return HttpAnswer{status, {}, ""}; });
        EXPECT_THAT(script.requests, SizeIs(3)) << "transaction, batch, single request";
        EXPECT_EQ(script.fates[id_of("w0")], "again, to the back") << status;
        EXPECT_EQ(script.fates[id_of("w1")], "again") << status;
        EXPECT_THAT(script.last_state.words,
                    AllOf(StartsWith("stopped: "), HasSubstr("HTTP " + std::to_string(status))));
        EXPECT_TRUE(script.rests()) << status;
    }
}

// https://hl7.org/fhir/R4/http.html#async-operations and RFC 9110 section 15.3.3: it may be done later, or
// never.
TEST(SyncMachineTest, WhatWasOnlyTakenInIsLookedUpLaterAndNotTakenForDone) {
    Script script;
    script.send_first(weights(2));
    script.answer({202, {}, ""});
    EXPECT_THAT(told(script.settles()), testing::Each("again, outcome unknown"));
    EXPECT_EQ(script.waits(), 2s);
}

TEST(SyncMachineTest, AmendmentIsLookedUpAndReplacesTheVersionFound) {
    Corrected corrected;
    Script script;
    script.answer(corrected.clinic.answer(script.send_first({corrected.sent})));
    const auto entries = entries_in(script.sends());
    ASSERT_THAT(entries, SizeIs(2));
    EXPECT_EQ(entries[0].method + " " + entries[0].url, "PUT Observation/n1");
    EXPECT_EQ(entries[0].if_match, "W/\"1\"");
    EXPECT_EQ(text_at(entries[0].resource, "id"), "n1");
    EXPECT_EQ(text_at(entries[1].resource, "target/0/reference"), "Observation/n1");
    script.play(corrected.clinic);
    EXPECT_EQ(script.fates[id_of("w1")], "confirmed Observation/n1/_history/2");
}

TEST(SyncMachineTest, VersionOfOursThatMovedOnIsLookedUpAndReplaced) {
    Corrected corrected;
    corrected.clinic.touch("w1");
    Script script;
    script.send_first({corrected.sent});
    script.play(corrected.clinic);
    ASSERT_THAT(script.requests, SizeIs(2));
    EXPECT_EQ(percent_decode(script.requests[0].target),
              "/Observation?identifier=" + hub_system + "|" + id_of("w1").urn());
    EXPECT_EQ(entries_in(script.requests[1]).at(0).if_match, "W/\"2\"");
    EXPECT_EQ(script.fates[id_of("w1")], "confirmed Observation/n1/_history/3");
    EXPECT_TRUE(corrected.clinic.holds("w1", corrected.sent.wanted));
}

TEST(SyncMachineTest, OneMovedVersionDoesNotMakeTheNextBundlesSmall) {
    Corrected corrected;
    corrected.clinic.touch("w1");
    auto parcels = weights(8);
    parcels[0] = parcel(a_weight("other"));
    parcels[1] = corrected.sent;
    Script script;
    script.send_first(parcels);
    script.play(corrected.clinic);
    EXPECT_EQ(script.last_state.pass_confirmed, 8);
    EXPECT_EQ(script.limits.back(), Policy{}.deliveries_per_bundle_max);
}

TEST(SyncMachineTest, WhatTheClinicChangedIsNeverOverwritten) {
    Corrected corrected;
    corrected.clinic.edit("w1", "18.4", "19.9");
    Script script;
    script.send_first({corrected.sent});
    script.play(corrected.clinic);
    EXPECT_EQ(script.fates[id_of("w1")],
              "set aside: the clinic's copy was changed there; it was not overwritten");
    EXPECT_EQ(corrected.clinic.held("w1").at(0).version, 2);
    EXPECT_THAT(corrected.clinic.held("w1").at(0).text, HasSubstr("19.9"));
}

TEST(SyncMachineTest, SeveralMatchesAreSetAsideForSomebodyAtTheClinic) {
    Corrected corrected;
    corrected.clinic.touch("w1");
    corrected.clinic.copy("w1");
    Script script;
    script.send_first({corrected.sent});
    script.play(corrected.clinic);
    EXPECT_EQ(script.fates[id_of("w1")],
              "set aside: the clinic holds 2 resources with this entry's identifier; somebody there has to "
              "settle which counts");
    Script fresh;
    fresh.send_first({parcel(corrected.record)});
    fresh.play(corrected.clinic);
    EXPECT_THAT(fresh.fates[id_of("w1")], StartsWith("set aside: the clinic holds 2 resources"));
}

TEST(SyncMachineTest, EntryThatIsCountedButNotShownIsNotPutThereAgain) {
    const Corrected corrected;
    Script script;
    script.request_pass();
    script.takes();
    logbook::Parcel unsure = corrected.sent;
    unsure.outcome_unknown = true;
    script.give({unsure});
    script.play([](const HttpRequest& request) -> Reply {
        EXPECT_EQ(request.method, "GET");
        HttpAnswer counted = searchset({});
        counted.body.insert(counted.body.rfind('}'), R"(,"total":1)");
        return counted;
    });
    EXPECT_THAT(script.fates[id_of("w1")], StartsWith("set aside: the clinic counts more resources"));
}

TEST(SyncMachineTest, WhatTheClinicRemovedIsNotPutBack) {
    Clinic empty;
    Script script;
    script.send_first({Corrected().sent});
    script.play(empty);
    EXPECT_EQ(
        script.fates[id_of("w1")],
        "set aside: the clinic confirmed an earlier revision but no longer holds it; it was not put back");
    EXPECT_EQ(empty.count("Observation"), 0u);
}

TEST(SyncMachineTest, UnansweredUpdateIsLookedUpBeforeItIsSentAgain) {
    Corrected corrected;
    Script first;
    first.answer(corrected.clinic.answer(first.send_first({corrected.sent})));
    corrected.clinic.answer(first.sends());
    corrected.sent.outcome_unknown = true;
    corrected.sent.attempts = 2;
    Script script;
    EXPECT_EQ(script.send_first({corrected.sent}).method, "GET");
    script.play(corrected.clinic);
    EXPECT_EQ(script.fates[id_of("w1")], "confirmed Observation/n1/_history/2");
    EXPECT_THAT(script.requests, SizeIs(1));
}

TEST(SyncMachineTest, UnansweredFirstRevisionIsLookedUpBeforeItIsSentAgain) {
    Clinic clinic;
    Script first;
    clinic.answer(first.send_first(weights(1)));
    auto repeated = weights(1);
    repeated[0].outcome_unknown = true;
    repeated[0].attempts = 2;
    Script script;
    script.send_first(repeated);
    script.play(clinic);
    EXPECT_EQ(script.fates[id_of("w0")], "confirmed Observation/n1/_history/1");
    EXPECT_THAT(script.requests, SizeIs(1));
    EXPECT_EQ(clinic.count("Observation"), 1u);
}

// Its answer was lost, and a clinician changed the resource before it was sent again.
TEST(SyncMachineTest, WhatTheClinicChangedBeforeWeKnewOfItIsLeftAlone) {
    Clinic clinic;
    Script first;
    clinic.answer(first.send_first(weights(1)));
    clinic.edit("w0", "18.4", "19.9");
    auto repeated = weights(1);
    repeated[0].outcome_unknown = true;
    repeated[0].attempts = 2;
    Script script;
    script.send_first(repeated);
    script.play(clinic);
    EXPECT_THAT(script.fates[id_of("w0")], StartsWith("set aside: the clinic's copy was changed there"));
}

TEST(SyncMachineTest, FoundInsteadOfCreatedMayBeOlderAndIsLookedUp) {
    Corrected corrected("", "");
    Script script;
    const auto entries = entries_in(script.send_first({corrected.sent}));
    EXPECT_EQ(entries.at(0).method, "POST");
    script.play(corrected.clinic);
    ASSERT_THAT(script.requests, SizeIs(3));
    EXPECT_EQ(script.requests[1].method, "GET");
    EXPECT_EQ(entries_in(script.requests[2]).at(0).if_match, "W/\"1\"");
    EXPECT_EQ(script.fates[id_of("w1")], "confirmed Observation/n1/_history/2");
    EXPECT_TRUE(corrected.clinic.holds("w1", corrected.sent.wanted));
}

TEST(SyncMachineTest, RetractionOfAnEntryUpdatesItAsEnteredInError) {
    Corrected corrected;
    Script script;
    script.send_first({parcel(corrected.record, a_retraction("w1", "2026-10-12T09:00"), "n1", "1")});
    script.play(corrected.clinic);
    EXPECT_THAT(script.fates[id_of("w1")], StartsWith("confirmed"));
    EXPECT_EQ(text_at(corrected.clinic.held("w1").at(0).text, "status"), "entered-in-error");
}

TEST(SyncMachineTest, AnswerThatDoesNotFitTheRequestMakesEveryEntryLookedUp) {
    const HttpAnswer too_short = transaction_answer({taken("Observation/n1")});
    const HttpAnswer of_another_type = transaction_answer(std::vector(6, taken("Patient/n1")));
    for (const HttpAnswer& strange :
         {too_short, of_another_type, HttpAnswer{200, {}, "<html>welcome</html>"}, HttpAnswer{204, {}, ""}}) {
        Clinic clinic;
        Script script;
        clinic.answer(script.send_first(weights(3)));
        script.answer(strange);
        script.play(clinic);
        EXPECT_THAT(script.requests, SizeIs(3));
        for (const HttpRequest& request : script.requests)
            EXPECT_EQ(request.method, "GET");
        EXPECT_EQ(script.last_state.pass_confirmed, 3);
    }
}

TEST(SyncMachineTest, ClinicThatContradictsItselfIsNotAskedForEver) {
    Corrected corrected;
    Script script;
    script.send_first({corrected.sent});
    script.play([&](const HttpRequest& request) -> Reply {
        return request.method == "GET" ? corrected.clinic.answer(request) : outcome(412, "another version");
    });
    EXPECT_THAT(script.fates[id_of("w1")],
                StartsWith("set aside: the clinic's answers contradict each other"));
    EXPECT_LE(script.requests.size(), 12u);
}

TEST(SyncMachineTest, EntryRefusedInsideAnAnswerIsTriedAloneAndThenSetAsideWithItsWords) {
    Script script;
    script.send_first(weights(2));
    const std::string good = taken("Observation/n1/_history/1");
    const std::string refused =
        R"({"response":{"status":"422","outcome":{"resourceType":"OperationOutcome",)"
        R"("issue":[{"severity":"error","code":"value","diagnostics":"too light"}]}}})";
    script.answer(transaction_answer({good, beside, refused, beside}));
    EXPECT_THAT(told(script.settles()), ElementsAre("confirmed Observation/n1/_history/1"));
    script.play([](const HttpRequest& request) -> Reply {
        return request.method == "GET" ? searchset({}) : outcome(422, "too light");
    });
    EXPECT_THAT(script.requests, SizeIs(1)) << "by itself; the condition was understood just before";
    EXPECT_EQ(script.fates[id_of("w1")],
              "set aside: HTTP 422 refused by the clinic's rules, the clinic says: too light");
}

TEST(SyncMachineTest, EntryPutOffInsideAnAnswerIsNotSentAgainAtOnce) {
    Script script;
    script.send_first(weights(2));
    const std::string good = taken("Observation/n1/_history/1");
    const std::string not_now = R"({"response":{"status":"503"}})";
    script.answer(transaction_answer({good, beside, not_now, not_now}));
    EXPECT_THAT(told(script.settles()),
                ElementsAre("confirmed Observation/n1/_history/1", "again, outcome unknown, to the back"));
    EXPECT_EQ(script.waits(), 2s);
    script.ring();
    EXPECT_EQ(script.takes(), 1u);
}

TEST(SyncMachineTest, RecordTakenWithoutItsProvenanceIsConfirmedAndSaysSo) {
    Script script;
    script.send_first(weights(1));
    script.answer(
        transaction_answer({taken("Observation/n1/_history/1"), R"({"response":{"status":"422"}})"}));
    const Settle settle = script.settles();
    EXPECT_THAT(told(settle), ElementsAre("confirmed Observation/n1/_history/1"));
    EXPECT_THAT(settle.settlements[0].words,
                StartsWith("the clinic took the record but not its Provenance: HTTP 422"));
}

TEST(SyncMachineTest, PassStartsNothingNewWhenItsWindowHasClosed) {
    Script script;
    Clinic clinic;
    script.request_pass(false, script.now + 10min);
    script.takes();
    script.give(weights(2));
    script.now += 10min;
    script.answer(clinic.answer(script.sends()));
    EXPECT_THAT(told(script.settles()), testing::Each(StartsWith("confirmed"))) << "what was answered counts";
    EXPECT_EQ(script.settles().state.words, "the window closed; what is left goes out in the next one");
    EXPECT_TRUE(script.rests());
}

TEST(SyncMachineTest, WaitThatWouldOutlastTheWindowEndsThePass) {
    Script script;
    script.request_pass(false, script.now + 10min);
    script.takes();
    script.give(weights(1));
    script.answer({503, {{"Retry-After", "600"}}, ""});
    EXPECT_THAT(told(script.settles()), ElementsAre("again, outcome unknown, to the back"));
    const Settle end = script.settles();
    EXPECT_EQ(end.state.pass_ended, script.now);
    EXPECT_EQ(end.state.not_before, script.now + 10min);
    EXPECT_TRUE(script.rests());
}

TEST(SyncMachineTest, WhileAPassRunsItIsKnownWhenTheLastOneEnded) {
    Script script;
    script.request_pass();
    script.takes();
    script.give({});
    const Instant ended = script.settles().state.pass_ended;
    EXPECT_TRUE(script.rests());
    script.now += 24h;
    script.request_pass();
    script.takes();
    script.give(weights(1));
    script.answer({503, {}, ""});
    const logbook::ClinicState waiting = script.settles().state;
    EXPECT_EQ(waiting.pass_started, script.now);
    EXPECT_EQ(waiting.pass_ended, ended) << "before the start, so that it is no end of this one";

    logbook::ClinicState set_back;
    set_back.pass_ended = ended;
    Script later({}, set_back);
    later.now = ended - 1h;
    later.request_pass();
    later.takes();
    later.give(weights(1));
    later.answer({503, {}, ""});
    EXPECT_EQ(later.settles().state.pass_ended, Instant()) << "by a clock that was wrong";
}

TEST(SyncMachineTest, RequestOfAPersonCutsAWaitShort) {
    Script script;
    script.send_first(weights(1));
    script.answer({503, {{"Retry-After", "3600"}}, ""});
    script.settles();
    EXPECT_EQ(script.waits(), 1h);
    script.request_pass(true);
    EXPECT_EQ(script.takes(), 1u);
}

TEST(SyncMachineTest, RequestOfAPersonDoesNotSkipTheSearchForAPatient) {
    Script script(juniper);
    script.request_pass();
    script.answer({503, {}, ""});
    script.settles();
    script.request_pass(true);
    EXPECT_THAT(script.sends().target, StartsWith("/Patient?"));
}

TEST(SyncMachineTest, WaitOfAnEarlierPassHoldsUnlessAPersonAsks) {
    logbook::ClinicState state;
    state.failures = 2;
    state.not_before = test_now() + 5min;
    Script by_timetable({}, state);
    by_timetable.request_pass();
    EXPECT_EQ(by_timetable.waits(), 5min);
    by_timetable.ring();
    EXPECT_EQ(by_timetable.takes(), 1u);
    Script by_person({}, state);
    by_person.request_pass(true);
    EXPECT_EQ(by_person.takes(), 1u);
}

TEST(SyncMachineTest, FindingRefersToItsDoseByTheBestNameThereIs) {
    const auto reference = [](std::vector<logbook::Parcel> parcels) {
        const auto entries = entries_in(Script().send_first(std::move(parcels)));
        return text_at(entries.at(entries.size() - 2).resource, "partOf/0/reference");
    };
    logbook::Parcel finding = parcel(a_bruise("b1", "d1"));
    EXPECT_EQ(reference({parcel(a_dose("d1")), finding}), mapping::Mapper::full_url(id_of("d1")));
    finding.dose_receipt = logbook::Receipt{1, "MedicationAdministration", "n8", "1", 201, test_now()};
    EXPECT_EQ(reference({finding}), "MedicationAdministration/n8");
    finding.dose_receipt.reset();
    EXPECT_EQ(reference({finding}), "");
    const auto alone = entries_in(Script().send_first({finding})).at(0).resource;
    EXPECT_EQ(text_at(alone, "partOf/0/identifier/value"), id_of("d1").urn());
    EXPECT_EQ(text_at(alone, "partOf/0/identifier/system"), hub_system);
}

TEST(SyncMachineTest, FindingSentBesideItsDoseEndsUpPointingAtIt) {
    Clinic clinic;
    Script script;
    script.send_first({parcel(a_dose("d1")), parcel(a_bruise("b1", "d1"))});
    script.play(clinic);
    EXPECT_EQ(text_at(clinic.held("b1").at(0).text, "partOf/0/reference"),
              "MedicationAdministration/" + clinic.held("d1").at(0).id);
}

TEST(SyncMachineTest, FindingThatTravelsBehindItsDoseNamesThePlaceOfTheDose) {
    Clinic clinic;
    Script script;
    script.send_first({parcel(a_dose("d1")), parcel(a_bruise("b1", "d1"))});
    script.answer({413, {}, ""});
    script.play(clinic);
    ASSERT_THAT(script.requests, SizeIs(2));
    EXPECT_EQ(text_at(entries_in(script.requests[1]).at(0).resource, "partOf/0/reference"),
              "MedicationAdministration/n1");
}

TEST(SyncMachineTest, EntryWithoutAResourceIsSetAsideAndHoldsUpNobody) {
    entry::Submission withdrawn = a_dose("d1");
    std::get<entry::DoseGiven>(withdrawn.entry->what).medicine = "withdrawn";
    entry::Submission somebody_else = a_weight("w8");
    somebody_else.entry->person = "rowan";
    Script script;
    Clinic clinic;
    script.request_pass();
    script.takes();
    script.give({parcel(withdrawn), parcel(a_weight("w1")), parcel(somebody_else)});
    script.play(clinic);
    EXPECT_EQ(script.fates[id_of("d1")], "set aside: the settings no longer name the medicine of this entry");
    EXPECT_EQ(script.fates[id_of("w8")],
              "set aside: the settings give no patient for this person at this clinic");
    EXPECT_THAT(script.fates[id_of("w1")], StartsWith("confirmed"));
    EXPECT_THAT(script.requests, SizeIs(1));
}

// https://hl7.org/fhir/R4/medicationadministration.html: the subject is a Patient or a Group.
TEST(SyncMachineTest, NothingLeavesThatBreaksThePublishedDefinitions) {
    LargestDraw random;
    static const entry::Household home = household();
    mapping::Mapper astray(home, {hub_system, {{"juniper", "Organization/o1"}}, {}, {}});
    SyncMachine machine({}, std::move(astray), {}, {}, random);
    machine.on(PassRequested{}, test_now());
    machine.on(Replied{outcome(404, "no such address")}, test_now());
    machine.on(Recalled{}, test_now());
    const Action action = machine.on(Taken{{parcel(a_dose("d1"))}}, test_now());
    const auto* settle = std::get_if<Settle>(&action);
    ASSERT_NE(settle, nullptr);
    ASSERT_THAT(settle->settlements, SizeIs(1));
    EXPECT_EQ(settle->settlements[0].fate, logbook::Settlement::Fate::set_aside);
    EXPECT_EQ(settle->settlements[0].words,
              "what would be sent breaks the rule target of FHIR R4 at Bundle.entry[0].resource.subject: a "
              "reference "
              "to Organization is not allowed here; check the references and identifiers in the settings");
}

}  // namespace

}  // namespace nightferry::sync
