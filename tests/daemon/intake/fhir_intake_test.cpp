// FHIR through the local API and the inbox: answers as https://hl7.org/fhir/R4/http.html#transaction-response
// and https://hl7.org/fhir/R4/operationoutcome.html want them, and the rules of the logbook for every form.
#include "fhir/check/validator.hpp"
#include "fhir/json/reader.hpp"
#include "tests/daemon/intake/api_caller.hpp"
#include "tests/daemon/intake/inbox_folder.hpp"

namespace nightferry::intake {
namespace {

namespace json = fhir::json;
using fhir::spec::Release;
using testing::HasSubstr;

std::string scale(const std::string& value, const std::string& kg = "18.4", const std::string& more = {}) {
    return R"({"resourceType":"Observation","identifier":[{"system":"urn:example:scale","value":")" + value +
           R"("}],"status":"final","code":{"coding":[{"system":"http://loinc.org","code":"29463-7"}]},)"
           R"("subject":{"reference":"Patient/p1"},"effectiveDateTime":"2026-10-12T07:30:00+01:00",)"
           R"("performer":[{"reference":"RelatedPerson/marlow"}],"valueQuantity":{"value":)" +
           kg + R"(,"unit":"kg","system":"http://unitsofmeasure.org","code":"kg"})" + more + "}";
}

std::string with_status(std::string resource, const std::string& status, const std::string& issued) {
    resource.replace(resource.find(R"("final")"), 7, "\"" + status + R"(","issued":")" + issued + "\"");
    return resource;
}

std::string bundle(const std::string& type, const std::vector<std::string>& resources) {
    std::string entries;
    for (const std::string& one : resources) {
        entries += (entries.empty() ? "" : ",") + std::string(R"({"resource":)") + one;
        if (type == "batch" || type == "transaction")
            entries += R"(,"request":{"method":"POST","url":"Observation"})";
        entries += "}";
    }
    return R"({"resourceType":"Bundle","type":")" + type + R"(","entry":[)" + entries + "]}";
}

class FhirIntakeTest : public ApiTest {
 protected:
    // "200 {…}"; whatever is answered is valid FHIR of the release that the answer says.
    std::string post(const std::string& body, const std::string& media_type = "application/fhir+json") {
        const HttpAnswer answer = api_.answer({"POST", "/v1/entries", {{"Content-Type", media_type}}, body});
        const std::string type(header(answer.headers, "Content-Type"));
        EXPECT_TRUE(type.starts_with("application/fhir+json; fhirVersion=")) << type;
        const auto document = json::read(answer.body);
        EXPECT_TRUE(document) << answer.body;
        if (document) {
            const auto release = type.ends_with("5.0")   ? Release::r5
                                 : type.ends_with("4.3") ? Release::r4b
                                                         : Release::r4;
            for (const auto& issue : fhir::check::validate(document->root(), release, {100, false}).issues)
                ADD_FAILURE() << issue.expression << ": " << issue.text << "\n" << answer.body;
        }
        return std::to_string(answer.status) + " " + answer.body;
    }
    EntryId of_scale(const std::string& value) const {
        return hub_.household.ids().id_for("identifier:urn:example:scale|" + value);
    }
};

TEST_F(FhirIntakeTest, AResourceBecomesAnEntryAndIsKnownAgain) {
    EXPECT_THAT(post(scale("1")),
                HasSubstr("\"accepted as entry " + of_scale("1").to_string() + ", revision 1\""));
    EXPECT_THAT(post(scale("1")), testing::StartsWith("200 "));
    EXPECT_THAT(post(scale("1")), HasSubstr("in the logbook already"));
    EXPECT_EQ(hub_.entries(), 1u);
    const auto record = hub_.book.find(of_scale("1")).value();
    ASSERT_TRUE(record);
    EXPECT_EQ(record->current.content.identifiers,
              (std::vector<entry::ForeignIdentifier>{{"urn:example:scale", "1"}}));
    EXPECT_EQ(record->deliveries.size(), 2u);
}

TEST_F(FhirIntakeTest, OtherContentUnderTheSameIdentifierIsAConflictUntilItSaysAmended) {
    post(scale("1"));
    const std::string conflict = post(scale("1", "18.6"));
    EXPECT_THAT(conflict, testing::StartsWith("409 "));
    EXPECT_THAT(conflict, HasSubstr(R"("severity":"error","code":"conflict")"));
    EXPECT_THAT(conflict, HasSubstr("Provenance with the activity UPDATE"));
    EXPECT_THAT(post(with_status(scale("1", "18.6"), "amended", "2026-10-12T09:00:00Z")),
                HasSubstr("revision 2"));
    EXPECT_THAT(post(with_status(scale("1"), "entered-in-error", "2026-10-12T10:00:00Z")),
                HasSubstr("revision 3"));
    const auto record = hub_.book.find(of_scale("1")).value();
    EXPECT_EQ(record->current.action(), entry::Action::retract);
    EXPECT_THAT(post(scale("1")), HasSubstr("but retracted since"));
}

TEST_F(FhirIntakeTest, ARefusalNamesPathReasonAndRemedy) {
    EXPECT_EQ(
        post(scale("1", "18.4", R"(,"device":{"reference":"Device/d1"})")),
        R"(422 {"resourceType":"OperationOutcome","issue":[{"severity":"error","code":"processing","details":)"
        R"({"text":"an entry has no place for this, and nothing is dropped in silence; leave it out, or say in )"
        R"(note what the clinic needs of it"},"expression":["Observation.device"]}]})"
        "\n");
    EXPECT_EQ(hub_.entries(), 0u);
}

TEST_F(FhirIntakeTest, OneBadResourceLeavesTheOthersUnharmed) {
    const std::vector<std::string> three{scale("1"), scale("2", "800"), scale("3")};
    const std::string answer = post(bundle("batch", three));
    EXPECT_THAT(answer, testing::StartsWith(R"(200 {"resourceType":"Bundle","type":"batch-response")"));
    EXPECT_THAT(answer, HasSubstr(R"("status":"422 Unprocessable Entity")"));
    EXPECT_THAT(answer, HasSubstr(R"("expression":["Bundle.entry[1].resource.value.value"])"));
    EXPECT_EQ(hub_.entries(), 2u);
    const std::string again = post(bundle("collection", three));
    EXPECT_THAT(again, testing::StartsWith(R"(422 {"resourceType":"OperationOutcome")"));
    EXPECT_THAT(again, HasSubstr("in the logbook already"));
}

TEST_F(FhirIntakeTest, ATransactionIsAllOrNothing) {
    const std::string refused = post(bundle("transaction", {scale("1"), scale("2", "800")}));
    EXPECT_THAT(refused, testing::StartsWith(R"(422 {"resourceType":"OperationOutcome")"));
    EXPECT_THAT(refused, HasSubstr("not recorded, because another entry of this transaction was not taken"));
    EXPECT_EQ(hub_.entries(), 0u);
    post(scale("1"));
    // In conflict only beside the logbook: what came before it in the transaction is taken back.
    EXPECT_THAT(post(bundle("transaction", {scale("3"), scale("1", "18.9")})), testing::StartsWith("409 "));
    EXPECT_EQ(hub_.entries(), 1u);
    const std::string taken = post(bundle("transaction", {scale("3"), scale("1")}));
    EXPECT_THAT(taken, testing::StartsWith(R"(200 {"resourceType":"Bundle","type":"transaction-response")"));
    EXPECT_THAT(taken, HasSubstr(R"("status":"201 Created")"));
    EXPECT_EQ(hub_.entries(), 2u);
}

TEST_F(FhirIntakeTest, WhatOnlyExplainsTheOthersHasAnAnswerToo) {
    const std::string patient = R"({"resourceType":"Patient","id":"p1"})";
    EXPECT_THAT(post(bundle("batch", {scale("1"), patient})), HasSubstr("nothing of it is kept by itself"));
    EXPECT_THAT(post(patient), testing::StartsWith("400 "));
}

TEST_F(FhirIntakeTest, TheMediaTypeSaysWhichReleaseAndFormItIs) {
    const HttpAnswer r5 = api_.answer(
        {"POST", "/v1/entries", {{"Content-Type", "application/fhir+json; fhirVersion=5.0"}}, scale("1")});
    EXPECT_EQ(header(r5.headers, "Content-Type"), "application/fhir+json; fhirVersion=5.0");
    EXPECT_THAT(post(scale("1"), "application/fhir+json; fhirVersion=3.0"),
                HasSubstr("fhirVersion '3.0' is not known; expected 4.0, 4.3 or 5.0"));
    EXPECT_THAT(post("<Observation/>", "application/fhir+xml"), testing::StartsWith("415 "));
    EXPECT_THAT(post("{"), HasSubstr(R"("diagnostics":"line 1, column 2")"));
    EXPECT_THAT(post(weight("w1")), HasSubstr("it has no resourceType"));
    EXPECT_THAT(post(""), HasSubstr("it is empty"));
}

TEST_F(FhirIntakeTest, PlainJsonIsAnsweredInPlainJson) {
    EXPECT_EQ(
        ask("POST", "/v1/entries", scale("1"), "application/json"),
        R"(200 {"accepted":1,"already_there":0,"conflict":0,"refused":0,"answers":[{"where":"Observation",)"
        R"("answer":"accepted","id":")" +
            of_scale("1").to_string() + R"(","revision":1}]})");
}

TEST_F(FhirIntakeTest, AFullDiskIsToldInFhir) {
    hub_.fill_disk();
    std::string answer;
    for (int i = 0; i < 200 && !answer.starts_with("507"); ++i)
        answer = post(scale(std::to_string(i)));
    EXPECT_THAT(answer, testing::StartsWith("507 "));
    hub_.make_room();
}

TEST_F(InboxTest, AResourceFileIsTakenAndARefusedOneSaysWhere) {
    drop("a.fhir.json", scale("1"));
    drop("b.json", bundle("collection", {scale("2"), scale("3", "800")}));
    sweep();
    EXPECT_EQ(files(), (Names{"done/a.fhir.json", "refused/b.json", "refused/b.json.reason.txt"}));
    EXPECT_THAT(reason("b.json"), HasSubstr("1 of 2 entries in this file are in the logbook"));
    EXPECT_THAT(reason("b.json"), HasSubstr("\n  Bundle.entry[1].resource.value.value: '800'"));
}

}  // namespace
}  // namespace nightferry::intake
