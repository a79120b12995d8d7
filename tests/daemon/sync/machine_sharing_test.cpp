// What a clinic may have, as it shows in what is sent: free texts that stay at home, and what is only taken
// back.
#include "daemon/sync/machine.hpp"
#include "tests/daemon/sync/script.hpp"

namespace nightferry::sync {

namespace {

using namespace test;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;
using testing::SizeIs;

constexpr char note[] = R"(,"note":"cried a little")";

entry::Submission noted(const std::string& kg = "18.4") {
    return a_weight("w1", kg, "2026-10-12T08:00", note);
}

logbook::Parcel without_texts(logbook::Parcel parcel, bool ever_sent = false) {
    parcel.texts = {false, ever_sent, true};
    return parcel;
}

logbook::Parcel to_take_back(logbook::Parcel parcel) {
    parcel.only_taken_back = true;
    return parcel;
}

TEST(SharingMachineTest, FreeTextsStayHereWhereTheyMayNotGo) {
    Script script;
    entry::Submission amendment = amended(noted("18.6"), "2026-10-12T09:00");
    const HttpRequest request =
        script.send_first({without_texts(parcel(noted())), without_texts(parcel(amendment))});
    EXPECT_THAT(request.body, HasSubstr("18.4"));
    EXPECT_THAT(request.body, Not(HasSubstr("cried")));
    EXPECT_THAT(request.body, Not(HasSubstr(*amendment.reason)));
}

TEST(SharingMachineTest, FreeTextsGoAlongWhereTheyMay) {
    Script script;
    EXPECT_THAT(script.send_first({parcel(noted())}).body, HasSubstr("cried a little"));
}

// What the clinic got while texts were shared is still ours to replace when they are not.
TEST(SharingMachineTest, AmendmentWithoutTextsReplacesWhatWentWithThem) {
    Clinic clinic;
    Script first;
    first.send_first({parcel(noted())});
    first.play(clinic);
    Script script;
    script.send_first(
        {without_texts(parcel(noted(), amended(noted("18.6"), "2026-10-12T09:00"), "n1", "1"), true)});
    script.play(clinic);
    EXPECT_EQ(script.fates[id_of("w1")], "confirmed Observation/n1/_history/2");
    const std::string held = clinic.held("w1").at(0).text;
    EXPECT_THAT(held, HasSubstr("18.6"));
    EXPECT_THAT(held, Not(HasSubstr("cried")));
}

TEST(SharingMachineTest, AmendmentWithTextsReplacesWhatWentWithoutThem) {
    Clinic clinic;
    Script first;
    first.send_first({without_texts(parcel(noted()))});
    first.play(clinic);
    logbook::Parcel sent = parcel(noted(), amended(noted("18.6"), "2026-10-12T09:00"), "n1", "1");
    sent.texts.ever_left_out = true;
    Script script;
    script.send_first({sent});
    script.play(clinic);
    EXPECT_EQ(script.fates[id_of("w1")], "confirmed Observation/n1/_history/2");
    EXPECT_THAT(clinic.held("w1").at(0).text, HasSubstr("cried a little"));
}

// Somebody there took the note out: where notes always went along, that is their change.
TEST(SharingMachineTest, NoteThatTheClinicTookOutIsItsChange) {
    Clinic clinic;
    Script first;
    first.send_first({without_texts(parcel(noted()))});
    first.play(clinic);
    Script script;
    script.send_first({parcel(noted(), amended(noted("18.6"), "2026-10-12T09:00"), "n1", "1")});
    script.play(clinic);
    EXPECT_THAT(script.fates[id_of("w1")], HasSubstr("changed there"));
}

TEST(SharingMachineTest, WhatIsThereIsTakenBack) {
    Clinic clinic;
    Script first;
    first.send_first({parcel(noted())});
    first.play(clinic);
    Script script;
    script.send_first({to_take_back(parcel(noted(), a_retraction("w1", "2026-10-12T10:00"), "n1", "1"))});
    script.play(clinic);
    EXPECT_EQ(script.fates[id_of("w1")], "confirmed Observation/n1/_history/2");
    EXPECT_EQ(text_at(clinic.held("w1").at(0).text, "status"), "entered-in-error");
}

TEST(SharingMachineTest, WhatIsNotThereIsNotPutThereToBeTakenBack) {
    for (const bool has_receipt : {false, true}) {
        for (const bool lost : {false, true}) {
            Clinic clinic;
            logbook::Parcel sent = to_take_back(
                parcel(noted(), a_retraction("w1", "2026-10-12T10:00"), has_receipt ? "n1" : "", "1"));
            sent.outcome_unknown = !has_receipt;
            sent.lost = lost;
            Script script;
            script.request_pass();
            script.takes();
            script.give({sent});
            script.play(clinic);
            // A request may still be on its way.
            if (script.wants<Wait>()) {
                script.fates.clear();
                script.ring();
                script.takes();
                script.give({sent});
                script.play(clinic);
            }
            EXPECT_EQ(script.fates[id_of("w1")], "withdrawn");
            EXPECT_THAT(clinic.held("w1"), IsEmpty());
        }
    }
}

TEST(SharingMachineTest, PreviewIsWhatIsSentByteForByte) {
    const logbook::Parcel dose = parcel(a_dose("d1"));
    const logbook::Parcel bruise = parcel(a_bruise("b1", "d1"));
    const logbook::Parcel weight = without_texts(parcel(noted()));
    JobBuilder builder{mapper()};
    const std::string shown = builder.preview({dose, bruise, weight}).text();
    Script script;
    EXPECT_EQ(script.send_first({dose, bruise, weight}).body, shown);
    EXPECT_THAT(script.manner().carrier, Carrier::transaction);
}

TEST(SharingMachineTest, PreviewOfAnAmendmentIsWhatReplaces) {
    Clinic clinic;
    Script first;
    first.send_first({parcel(noted())});
    first.play(clinic);
    const logbook::Parcel sent = parcel(noted(), amended(noted("18.6"), "2026-10-12T09:00"), "n1", "1");
    const std::string shown = JobBuilder{mapper()}.preview({sent}).text();
    Script script;
    script.send_first({sent});
    script.play(clinic);
    ASSERT_THAT(script.requests, SizeIs(2)) << "a look before";
    EXPECT_EQ(script.requests[1].body, shown);
}

TEST(SharingMachineTest, PreviewForAServerWithoutTransactionsShowsTheProvenanceBehind) {
    JobBuilder builder{mapper()};
    builder.manner().carrier = Carrier::single;
    const auto shown = builder.preview({parcel(a_dose("d1")), parcel(a_weight("w1"))});
    std::vector<std::string> types;
    for (const fhir::json::Value& entry : *shown.root().find("entry"))
        types.emplace_back(entry.find("resource")->string_at("resourceType"));
    EXPECT_THAT(types, ElementsAre("MedicationAdministration", "Observation", "Provenance", "Provenance"));
}

}  // namespace

}  // namespace nightferry::sync
