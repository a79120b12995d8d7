// Which patient the clinic means, looked at in every pass: records that were replaced, deleted or given to
// somebody else (https://hl7.org/fhir/R4/patient.html#links, https://hl7.org/fhir/R4/http.html#delete).
#include "tests/daemon/sync/script.hpp"

namespace nightferry::sync {

namespace {

using namespace test;
using testing::AllOf;
using testing::ElementsAre;
using testing::EndsWith;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::StartsWith;

const PatientToFind by_reference{"juniper", {}, {}, "Patient/p1"};
const PatientToFind by_number{"juniper", "https://clinic.example/numbers", "T-1"};
constexpr char what_to_do[] = "; ask the clinic which one is right, and write that one into the settings";

std::string patient(const std::string& id, const std::string& more = "") {
    return R"({"resourceType":"Patient","id":")" + id +
           R"(","identifier":[{"system":"https://clinic.example/numbers","value":"T-1"}])" + more + "}";
}

const std::string replaced = R"(,"link":[{"other":{"reference":"Patient/p9"},"type":"replaced-by"}])";

// What the machine says of the person it leaves out.
std::string why_left_out(Script& script) {
    EXPECT_THAT(script.leaves_out(), ElementsAre("juniper"));
    script.give({});
    std::string words = script.settles().state.words;
    EXPECT_TRUE(script.rests());
    const std::string before = "nothing else was waiting; nothing is sent for 'juniper', since ";
    EXPECT_THAT(words, StartsWith(before));
    return words.substr(std::min(before.size(), words.size()));
}

struct Read : Script {
    Read() : Script({by_reference}) {
        request_pass();
        EXPECT_EQ(sends().target, "/Patient/p1");
    }
    // The subject of what is sent once the patient's record was answered.
    std::string subject() {
        EXPECT_THAT(leaves_out(), IsEmpty());
        give({parcel(a_weight("w1"))});
        return text_at(entries_in(sends()).at(0).resource, "subject/reference");
    }
};

TEST(MachinePatientsTest, PatientOfTheSettingsIsReadBeforeAnythingIsSent) {
    Read script;
    script.answer({200, {}, patient("p1")});
    EXPECT_EQ(script.subject(), "Patient/p1");
}

TEST(MachinePatientsTest, RecordThatWasReplacedGetsNothing) {
    Read script;
    script.answer({200, {}, patient("p1", replaced)});
    EXPECT_EQ(
        why_left_out(script),
        std::string("the clinic replaced the patient record 'Patient/p1' by 'Patient/p9'") + what_to_do);
}

TEST(MachinePatientsTest, RecordThatReplacesAnotherOrIsBesideOneIsRight) {
    for (const char* type : {"replaces", "refer", "seealso"}) {
        Read script;
        script.answer({200,
                       {},
                       patient("p1", R"(,"link":[{"other":{"reference":"Patient/p9"},"type":")" +
                                         std::string(type) + R"("}])")});
        EXPECT_EQ(script.subject(), "Patient/p1") << type;
    }
}

TEST(MachinePatientsTest, RecordThatIsNoLongerUsedGetsNothing) {
    Read script;
    script.answer({200, {}, patient("p1", R"(,"active":false)")});
    EXPECT_EQ(why_left_out(script),
              std::string("the clinic no longer uses the patient record 'Patient/p1'") + what_to_do);
}

TEST(MachinePatientsTest, RecordThatIsGoneGetsNothing) {
    Read deleted;
    deleted.answer(outcome(410, "deleted"));
    EXPECT_EQ(why_left_out(deleted),
              std::string("the clinic deleted the patient record 'Patient/p1'") + what_to_do);
    Read unknown;
    unknown.answer(outcome(404, "not known"));
    EXPECT_EQ(why_left_out(unknown), std::string("the clinic knows no 'Patient/p1'") + what_to_do);
}

TEST(MachinePatientsTest, AnswerAboutSomethingElseIsNeverTakenForThePatient) {
    for (const std::string& answer : {patient("p2"), std::string(R"({"resourceType":"Basic","id":"p1"})")}) {
        Read script;
        script.answer({200, {}, answer});
        EXPECT_THAT(why_left_out(script), StartsWith("the clinic answered with something else"));
    }
}

TEST(MachinePatientsTest, PageForPeopleInPlaceOfThePatientStopsThePass) {
    Read script;
    script.answer({200, {}, "<html>Sign in</html>"});
    EXPECT_EQ(script.settles().state.words, "stopped: the clinic's answer about a patient cannot be read");
    EXPECT_TRUE(script.rests());
}

TEST(MachinePatientsTest, ServerThatDoesNotShowPatientsGetsRecordsAllTheSame) {
    for (const int status : {400, 403, 405, 501}) {
        Read script;
        script.answer(outcome(status, "not for you"));
        EXPECT_EQ(script.subject(), "Patient/p1") << status;
    }
}

TEST(MachinePatientsTest, ServerThatFailsToShowPatientsIsBelievedAfterThreeTimes) {
    Read script;
    for (int times = 0; times < 3; ++times) {
        EXPECT_EQ(script.sends().target, "/Patient/p1");
        script.answer({500, {}, ""});
        script.settles();
        script.ring();
    }
    EXPECT_EQ(script.subject(), "Patient/p1");
}

TEST(MachinePatientsTest, BusyServerIsAskedForAsLongAsItTakes) {
    Read script;
    for (int times = 0; times < 6; ++times) {
        EXPECT_EQ(script.sends().target, "/Patient/p1");
        script.answer({503, {}, ""});
        script.settles();
        script.ring();
    }
    script.answer({200, {}, patient("p1")});
    EXPECT_EQ(script.subject(), "Patient/p1");
}

TEST(MachinePatientsTest, RecordThatIsRightAgainGetsWhatWaited) {
    Read script;
    script.answer({200, {}, patient("p1", replaced)});
    why_left_out(script);
    script.request_pass();
    script.answer({200, {}, patient("p1")});
    EXPECT_EQ(script.subject(), "Patient/p1");
}

logbook::ClinicState::KnownPatient known_in(Script& script) {
    script.give({});
    return script.settles().state.patients.at("juniper");
}

TEST(MachinePatientsTest, WhyARecordGetsNothingIsKeptWithWhenThatBegan) {
    Read script;
    const Instant began = script.now;
    script.answer(outcome(410, "deleted"));
    const auto first = known_in(script);
    EXPECT_EQ(first.left_out_because,
              std::string("the clinic deleted the patient record 'Patient/p1'") + what_to_do);
    EXPECT_EQ(first.left_out_since, began);
    script.now += std::chrono::hours{24};
    script.request_pass();
    script.answer(outcome(410, "deleted"));
    EXPECT_EQ(known_in(script).left_out_since, began) << "the same as the night before";
    script.request_pass();
    script.answer({200, {}, patient("p1", replaced)});
    EXPECT_EQ(known_in(script).left_out_since, script.now) << "something else";
    script.request_pass();
    script.answer({200, {}, patient("p1")});
    const auto last = known_in(script);
    EXPECT_EQ(last.left_out_because, "");
    EXPECT_EQ(last.left_out_since, Instant{});
}

TEST(MachinePatientsTest, RecordKnownToBeWrongIsNotBelievedWhenTheServerFails) {
    logbook::ClinicState state;
    state.patients["juniper"] = {"", "", "it was deleted", {}, "Patient/p1"};
    for (const std::string reference : {"Patient/p1", "Patient/p2"}) {
        PatientToFind named = by_reference;
        named.reference = reference;
        Script script({named}, state);
        script.request_pass();
        for (int times = 0; times < 3; ++times) {
            EXPECT_EQ(script.sends().target, "/" + reference);
            script.answer({500, {}, ""});
            if (script.wants<Take>()) break;
            script.settles();
            script.ring();
        }
        const bool is_left_out = reference == "Patient/p1";
        EXPECT_EQ(script.leaves_out().size(), is_left_out ? 1U : 0U) << reference;
        EXPECT_EQ(known_in(script).left_out_because, is_left_out ? "it was deleted" : "");
    }
}

TEST(MachinePatientsTest, FoundRecordThatWasReplacedGetsNothing) {
    Script script({by_number});
    script.request_pass();
    script.answer(searchset({patient("p1", replaced)}));
    EXPECT_THAT(why_left_out(script), StartsWith("the clinic replaced the patient record 'Patient/p1'"));
}

logbook::ClinicState after_finding(const std::string& id) {
    Script script({by_number});
    script.request_pass();
    script.answer(searchset({patient(id)}));
    script.give({});
    return script.settles().state;
}

TEST(MachinePatientsTest, WrongRecordInTheSettingsDoesNotMakeTheHubForgetWhomANumberMeant) {
    Script by_mistake({by_reference}, after_finding("p0"));
    by_mistake.request_pass();
    by_mistake.answer(outcome(404, "not known"));
    by_mistake.give({});
    const logbook::ClinicState state = by_mistake.settles().state;
    Script script({by_number}, state);
    EXPECT_EQ(script.machine().persons_left_out(), 1U) << "also in the next process";
    script.request_pass();
    script.answer(searchset({patient("p9")}));
    EXPECT_THAT(why_left_out(script), StartsWith("the clinic now means 'Patient/p9'"));
    script.request_pass();
    script.answer(searchset({patient("p0")}));
    EXPECT_THAT(script.leaves_out(), IsEmpty());
    EXPECT_EQ(script.machine().persons_left_out(), 0U);
}

TEST(MachinePatientsTest, NumberThatMeansAnotherPatientThanBeforeGetsNothing) {
    const logbook::ClinicState state = after_finding("p1");
    Script script({by_number}, state);
    script.request_pass();
    script.answer(searchset({patient("p9")}));
    EXPECT_EQ(why_left_out(script),
              std::string("the clinic now means 'Patient/p9' by the identifier in the settings, and meant "
                          "'Patient/p1' before") +
                  what_to_do);
}

TEST(MachinePatientsTest, AnotherNumberInTheSettingsMayMeanAnotherPatient) {
    PatientToFind corrected = by_number;
    corrected.value = "T-2";
    Script script({corrected}, after_finding("p1"));
    script.request_pass();
    std::string other = patient("p9");
    other.replace(other.find("T-1"), 3, "T-2");
    script.answer(searchset({other}));
    EXPECT_THAT(script.leaves_out(), IsEmpty());
    script.give({parcel(a_weight("w1"))});
    script.settles();
    EXPECT_EQ(text_at(entries_in(script.sends()).at(0).resource, "subject/reference"), "Patient/p9");
}

TEST(MachinePatientsTest, SamePatientAsBeforeIsFoundAgain) {
    Script script({by_number}, after_finding("p1"));
    script.request_pass();
    script.answer(searchset({patient("p1")}));
    EXPECT_THAT(script.leaves_out(), IsEmpty());
}

// The release that a statement names (https://hl7.org/fhir/R4/codesystem-FHIR-version.html).
TEST(MachineReleaseTest, EntriesGoOutInTheReleaseOfTheServer) {
    for (const auto& [version, when] : std::map<std::string, std::string>{{"4.0.1", "effectiveDateTime"},
                                                                          {"4.3.0", "effectiveDateTime"},
                                                                          {"5.0.0", "occurenceDateTime"}}) {
        Script script;
        auto& body = script.statement.body;
        body.replace(body.find("4.0.1"), 5, version);
        const HttpRequest request = script.send_first({parcel(a_dose("d1"))});
        EXPECT_NE(text_at(entries_in(request).at(0).resource, when), "") << version;
    }
}

TEST(MachineReleaseTest, ReleaseOfTheSettingsComesBeforeThatOfTheServer) {
    Policy policy;
    policy.release = fhir::spec::Release::r5;
    Script script({}, {}, policy);
    const HttpRequest request = script.send_first({parcel(a_dose("d1"))});
    EXPECT_NE(text_at(entries_in(request).at(0).resource, "occurenceDateTime"), "");
}

TEST(MachineReleaseTest, ServerOfAnotherReleaseGetsNothingAndIsToldWhy) {
    Script script;
    auto& body = script.statement.body;
    body.replace(body.find("4.0.1"), 5, "3.0.2");
    script.request_pass();
    EXPECT_EQ(
        script.settles().state.words,
        "stopped: the clinic's server says that it speaks FHIR '3.0.2', which this hub does not; it needs "
        "4.0 (R4), 4.3 (R4B) or 5.0 (R5)");
    EXPECT_TRUE(script.rests());
    body.replace(body.find("3.0.2"), 5, "4.0.1");
    script.request_pass();
    EXPECT_EQ(script.takes(), Policy{}.deliveries_per_bundle_max) << "and is asked again in the next pass";
}

}  // namespace

}  // namespace nightferry::sync
