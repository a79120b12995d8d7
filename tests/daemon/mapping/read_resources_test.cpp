// FHIR that others hand in. The elements are those of https://hl7.org/fhir/R4/medicationadministration.html
// and https://hl7.org/fhir/R4/observation.html (R5: the same pages under /R5/).
#include "daemon/mapping/read_resources.hpp"

#include "daemon/entry/body.hpp"
#include "fhir/json/writer.hpp"
#include "tests/daemon/mapping/incoming.hpp"
#include "tests/daemon/mapping/resource_editing.hpp"
#include "tests/support/files.hpp"
#include "tests/support/published_examples.hpp"

namespace nightferry::mapping {
namespace {

using fhir::spec::Release;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using Lines = std::vector<std::string>;

// As a device of somebody else would write them.
const std::string dose = R"({"resourceType":"MedicationAdministration","id":"4711",
 "text":{"status":"generated","div":"<div xmlns=\"http://www.w3.org/1999/xhtml\">20 mg</div>"},
 "identifier":[{"use":"official","system":"urn:example:device","value":"4711"}],
 "status":"completed",
 "medicationCodeableConcept":{"coding":[{"system":"http://www.whocc.no/atc","code":"B01AB05"}]},
 "subject":{"reference":"Patient/p1"},"effectiveDateTime":"2026-10-12T08:00:00+01:00",
 "performer":[{"actor":{"reference":"RelatedPerson/marlow"}}],
 "dosage":{"site":{"coding":[{"system":"http://terminology.hl7.org/CodeSystem/v3-ActSite","code":"LT"}]},
  "route":{"coding":[{"system":"http://snomed.info/sct","code":"34206005"}]},
  "dose":{"value":20.0,"unit":"mg","system":"http://unitsofmeasure.org","code":"mg"}}})";
const std::string not_given = R"({"resourceType":"MedicationAdministration",
 "status":"not-done","statusReason":[{"coding":[{"system":"http://snomed.info/sct","code":"182856006"}]}],
 "medicationCodeableConcept":{"coding":[{"system":"http://snomed.info/sct","code":"372562003"}]},
 "subject":{"reference":"https://clinic.example/fhir/Patient/p1"},"effectiveDateTime":"2026-10-12T20:00:00+01:00",
 "performer":[{"actor":{"reference":"RelatedPerson/marlow"}}]})";
const std::string bruise = R"({"resourceType":"Observation","status":"final",
 "code":{"coding":[{"system":"http://snomed.info/sct","code":"302227002"}]},
 "subject":{"identifier":{"system":"urn:example:clinic","value":"MRN-7"}},
 "effectiveDateTime":"2026-10-14T07:50:00+01:00","performer":[{"reference":"RelatedPerson/marlow"}],
 "valueBoolean":true,
 "bodySite":{"coding":[{"system":"http://terminology.hl7.org/CodeSystem/v3-ActSite","code":"LUAQ"}],"text":"near the navel"},
 "component":[{"code":{"coding":[{"system":"https://nightferry.example/fhir/CodeSystem/home-record","code":"length"}]},
  "valueQuantity":{"value":1.50,"unit":"cm","system":"http://unitsofmeasure.org","code":"cm"}}]})";
const std::string weight = R"({"resourceType":"Observation","id":"w1","status":"final",
 "code":{"coding":[{"system":"http://loinc.org","code":"29463-7"},{"system":"http://snomed.info/sct","code":"27113001"}]},
 "subject":{"reference":"Patient/p1"},"effectiveDateTime":"2026-10-12T07:30:00+01:00",
 "performer":[{"reference":"RelatedPerson/marlow"}],
 "valueQuantity":{"value":18.40,"unit":"kg","system":"http://unitsofmeasure.org","code":"kg"}})";
const std::string vial = R"({"resourceType":"Observation","status":"final",
 "code":{"coding":[{"system":"https://nightferry.example/fhir/CodeSystem/home-record","code":"vial-opened"}]},
 "subject":{"reference":"Patient/p1"},"effectiveDateTime":"2026-10-12T07:30:00+01:00",
 "performer":[{"reference":"RelatedPerson/marlow"}],
 "valueCodeableConcept":{"text":"enoxaparin 100 mg/mL"},
 "component":[{"code":{"coding":[{"system":"https://nightferry.example/fhir/CodeSystem/home-record","code":"vial-label"}]},
  "valueString":"V3"}]})";

std::string named(const std::string& name) {
    if (name == "dose") return dose;
    if (name == "not given") return not_given;
    if (name == "bruise") return bruise;
    return name == "weight" ? weight : vial;
}

Outcome only(const std::string& text) {
    const Outcomes all = outcomes_of(text);
    EXPECT_EQ(all.parts.size(), 1u);
    return all.parts.empty() ? Outcome{} : all.parts.front();
}

// The stored body of what becomes of it.
std::string body_of(const Outcome& outcome) {
    EXPECT_THAT(outcome.problems, IsEmpty());
    return outcome.submission ? entry::to_body(*outcome.submission) : std::string();
}

std::string bundle(const std::string& type, const Lines& entries) {
    std::string text;
    for (const std::string& one : entries)
        text += (text.empty() ? "" : ",") + one;
    return R"({"resourceType":"Bundle","type":")" + type + R"(","entry":[)" + text + "]}";
}

std::string in_entry(const std::string& resource, const std::string& more = {}) {
    return "{" + more + R"("resource":)" + resource + "}";
}

TEST(ReadResourcesTest, EveryKindOfEntryIsReadFromForeignResources) {
    EXPECT_EQ(
        body_of(only(dose)),
        R"({"action":"record","id":")" +
            home().ids().id_for("identifier:urn:example:device|4711").to_string() +
            R"(","type":"dose_given","person":"juniper","time":"2026-10-12T08:00:00+01:00","by":"marlow",)"
            R"("medicine":"enoxaparin-100","amount":20.0,"unit":"mg","region":"thigh","side":"left",)"
            R"("identifiers":"urn:example:device|4711","recorded_by":"marlow"})");
    EXPECT_THAT(body_of(only(not_given)), HasSubstr(R"("medicine":"enoxaparin-100","why":"out_of_stock")"));
    EXPECT_THAT(
        body_of(only(bruise)),
        HasSubstr(R"("finding":"bruise","present":true,"region":"abdomen","side":"left","level":"upper",)"
                  R"("length_cm":1.50,"note":"site: near the navel")"));
    EXPECT_THAT(body_of(only(weight)), HasSubstr(R"("kg":18.40,"how":"measured")"));
    EXPECT_THAT(body_of(only(vial)), HasSubstr(R"("medicine":"enoxaparin-100","vial":"V3")"));
}

// A resource without an identifier is known by its id, and without either by what it says.
TEST(ReadResourcesTest, TheSameResourceIsTheSameEntry) {
    const auto id = [](const std::string& text) { return only(text).submission->id; };
    const std::string later = edited(weight, {{"set", "effectiveDateTime", "\"2026-10-13T07:30:00Z\""}});
    EXPECT_EQ(id(weight), id(later));
    EXPECT_NE(id(edited(weight, {{"drop", "id", ""}})), id(edited(later, {{"drop", "id", ""}})));
    const std::string uuid = "6f0d3c8e-5b0a-4c1e-9d3a-0a1b2c3d4e5f";
    const auto with = [&](const std::string& system) {
        return edited(weight, {{"set", "identifier",
                                R"([{"system":")" + system + R"(","value":"urn:uuid:)" + uuid + R"("}])"}});
    };
    EXPECT_EQ(id(with("urn:example:test-home")).to_string(), uuid);
    EXPECT_EQ(id(with("urn:ietf:rfc:3986")).to_string(), uuid);
    EXPECT_NE(id(with("urn:example:device")).to_string(), uuid);
}

TEST(ReadResourcesTest, OurOwnIdentifierIsNotKeptTwice) {
    const std::string both = edited(
        weight,
        {{"set", "identifier",
          R"([{"system":"urn:example:test-home","value":"urn:uuid:6f0d3c8e-5b0a-4c1e-9d3a-0a1b2c3d4e5f"},
                      {"system":"urn:a:scale","value":"7"},{"value":"8"}])"}});
    EXPECT_THAT(body_of(only(both)), HasSubstr(R"("identifiers":"urn:a:scale|7\n|8")"));
}

TEST(ReadResourcesTest, WordsWithoutAPlaceOfTheirOwnAreKeptInTheNote) {
    const std::string text = edited(dose, {{"set", "note", R"([{"text":"Slow."},{"text":"No pain."}])"},
                                           {"set", "dosage/text", "\"one syringe\""},
                                           {"set", "medicationCodeableConcept/text", "\"prefilled\""}});
    EXPECT_THAT(body_of(only(text)),
                HasSubstr(R"("note":"Slow.\nNo pain.\nmedicine: prefilled\ndosage: one syringe")"));
    const std::string other =
        edited(not_given, {{"set", "statusReason", R"([{"text":"the syringe broke"}])"}});
    EXPECT_THAT(body_of(only(other)), HasSubstr(R"("why":"other","note":"reason: the syringe broke")"));
}

// What the resource leads to: contained, or in the same Bundle
// (https://hl7.org/fhir/R4/references.html#contained, https://hl7.org/fhir/R4/bundle.html#references).
TEST(ReadResourcesTest, PatientAndMedicationAreFoundWhereReferencesLead) {
    const std::string contained = edited(
        dose, {{"drop", "medicationCodeableConcept", ""},
               {"set", "medicationReference", R"({"reference":"#m"})"},
               {"set", "contained",
                R"([{"resourceType":"Medication","id":"m","code":{"text":"enoxaparin 100 mg/mL"}}])"}});
    EXPECT_THAT(body_of(only(contained)), HasSubstr("enoxaparin-100"));
    const std::string by_url = edited(
        weight, {{"set", "subject", R"({"reference":"urn:uuid:0a1b2c3d-5b0a-4c1e-9d3a-0a1b2c3d4e5f"})"}});
    const std::string patient =
        R"({"resourceType":"Patient","identifier":[{"system":"urn:example:school","value":"R-9"}]})";
    const Outcomes all = outcomes_of(bundle(
        "collection", {in_entry(by_url),
                       in_entry(patient, R"("fullUrl":"urn:uuid:0a1b2c3d-5b0a-4c1e-9d3a-0a1b2c3d4e5f",)")}));
    ASSERT_EQ(all.parts.size(), 2u);
    EXPECT_THAT(body_of(all.parts[0]), HasSubstr(R"("person":"rowan")"));
    EXPECT_TRUE(all.parts[1].is_context);
}

// A relative reference belongs to the server that its Bundle names.
TEST(ReadResourcesTest, AnotherServersPatientOfThatNumberIsAStranger) {
    const Outcomes all = outcomes_of(bundle(
        "searchset", {in_entry(weight, R"("fullUrl":"https://app.example/fhir/Observation/w1",)"),
                      in_entry(edited(weight, {{"set", "subject/reference", "\"Patient/p3\""},
                                               {"set", "id", "\"w2\""},
                                               {"set", "performer/0/reference",
                                                R"("https://clinic.example/fhir/RelatedPerson/marlow")"}}),
                               R"("fullUrl":"https://other.example/fhir/Observation/w2",)")}));
    ASSERT_EQ(all.parts.size(), 2u);
    ASSERT_EQ(all.parts[0].problems.size(), 2u);
    EXPECT_THAT(all.parts[0].problems[0], HasSubstr("Bundle.entry[0].resource.subject: this is no person"));
    EXPECT_THAT(body_of(all.parts[1]), HasSubstr(R"("person":"juniper")"));
}

TEST(ReadResourcesTest, AFindingNamesTheDoseInItsBundle) {
    const std::string finding =
        edited(bruise, {{"set", "partOf", R"([{"reference":"MedicationAdministration/4711"}])"}});
    const Outcomes all = outcomes_of(bundle("collection", {in_entry(finding), in_entry(dose)}));
    ASSERT_EQ(all.parts.size(), 2u);
    EXPECT_THAT(body_of(all.parts[0]), HasSubstr(R"("dose":")" + all.parts[1].submission->id.to_string()));
}

TEST(ReadResourcesTest, AmendedAndWithdrawnResourcesAreRevisions) {
    const std::string amended =
        edited(weight, {{"set", "status", "\"amended\""}, {"set", "issued", "\"2026-10-12T09:00:00Z\""}});
    EXPECT_THAT(body_of(only(amended)), HasSubstr(R"("action":"amend")"));
    EXPECT_THAT(body_of(only(amended)),
                HasSubstr(R"("recorded":"2026-10-12T09:00:00+00:00","recorded_by":"marlow")"));
    const std::string withdrawn =
        edited(dose, {{"set", "status", "\"entered-in-error\""},
                      {"set", "meta", R"({"lastUpdated":"2026-10-12T10:00:00Z"})"}});
    EXPECT_EQ(body_of(only(withdrawn)),
              R"({"action":"retract","id":")" + only(dose).submission->id.to_string() +
                  R"(","recorded":"2026-10-12T10:00:00+00:00","recorded_by":"marlow"})");
}

// A server gives a Provenance for each version (https://hl7.org/fhir/R4/provenance.html).
TEST(ReadResourcesTest, TheLatestProvenanceCounts) {
    const auto provenance = [](const std::string& recorded, const std::string& activity,
                               const std::string& who) {
        return in_entry(
            R"({"resourceType":"Provenance","target":[{"reference":"Observation/w1"}],"recorded":")" +
            recorded +
            R"(","activity":{"coding":[{"system":"http://terminology.hl7.org/CodeSystem/v3-DataOperation",)"
            R"("code":")" +
            activity + R"("}]},"reason":[{"text":"typed 14.8"}],"agent":[{"who":{"reference":")" + who +
            R"("}}]})");
    };
    const std::string marlow = "RelatedPerson/marlow";
    const std::string created = provenance("2026-10-12T09:00:00+01:00", "CREATE", marlow);
    const std::string updated = provenance("2026-10-12T08:30:00Z", "UPDATE", marlow);
    for (const Lines& order :
         {Lines{in_entry(weight), created, updated}, Lines{updated, created, in_entry(weight)}}) {
        const Outcomes all = outcomes_of(bundle("collection", order));
        ASSERT_EQ(all.parts.size(), 3u);
        EXPECT_THAT(
            body_of(all.parts[order[0] == updated ? 2 : 0]),
            HasSubstr(
                R"("recorded":"2026-10-12T08:30:00+00:00","recorded_by":"marlow","reason":"typed 14.8"})"));
    }
    // What is said by a stranger, or cannot be read, attributes nothing.
    const Outcomes strange = outcomes_of(
        bundle("collection", {in_entry(weight), provenance("2026-10-12T08:30:00Z", "UPDATE", "Patient/p9")}));
    EXPECT_THAT(strange.parts.at(0).problems,
                ElementsAre(HasSubstr("Bundle.entry[1].resource.agent[0].who: this is no carer")));
    const Outcomes broken = outcomes_of(
        bundle("collection", {in_entry(weight), created,
                              in_entry(R"({"resourceType":"Provenance","recorded":"2026-10-12T08:30:00Z",)"
                                       R"("target":[{"reference":"Observation/w1"}]})")}));
    EXPECT_THAT(broken.parts.at(0).problems,
                ElementsAre(HasSubstr("a Provenance in this Bundle says who wrote this down")));
    EXPECT_FALSE(broken.parts.at(2).problems.empty());
}

// https://hl7.org/fhir/R4/http.html#version-parameter
TEST(ReadResourcesTest, TheReleaseIsStatedOrSeen) {
    const std::string r5 =
        edited(dose, {{"drop", "medicationCodeableConcept", ""},
                      {"drop", "effectiveDateTime", ""},
                      {"set", "medication", R"({"concept":{"text":"enoxaparin 100 mg/mL"}})"},
                      {"set", "occurenceDateTime", "\"2026-10-12T08:00:00+01:00\""},
                      {"set", "performer/0/actor", R"({"reference":{"reference":"RelatedPerson/marlow"}})"}});
    EXPECT_EQ(outcomes_of(dose).reading.release, Release::r4);
    EXPECT_EQ(outcomes_of(r5).reading.release, Release::r5);
    EXPECT_THAT(body_of(only(r5)), HasSubstr(R"("medicine":"enoxaparin-100","amount":20.0)"));
    const Outcomes wrong = outcomes_of(dose, Release::r5);
    EXPECT_EQ(wrong.reading.release, Release::r5);
    EXPECT_FALSE(wrong.parts.at(0).submission);
    EXPECT_THAT(wrong.parts.at(0).problems.at(0), HasSubstr("FHIR R5"));
    const std::string profiled = edited(
        weight,
        {{"set", "meta", R"({"profile":["http://hl7.org/fhir/StructureDefinition/vitalsigns|4.3.0"]})"}});
    EXPECT_EQ(outcomes_of(profiled).reading.release, Release::r4b);
}

TEST(ReadResourcesTest, WhatABundleAsksForIsAnsweredOneByOne) {
    const Outcomes all = outcomes_of(bundle(
        "batch",
        {in_entry(weight, R"("request":{"method":"PUT","url":"Observation/w1"},)"),
         R"({"request":{"method":"DELETE","url":"Observation/w1"}})",
         in_entry(dose,
                  R"("request":{"method":"POST","url":"MedicationAdministration","ifMatch":"W/\"1\""},)"),
         in_entry(R"({"resourceType":"Basic","code":{"text":"x"}})",
                  R"("request":{"method":"POST","url":"Basic"},)"),
         in_entry(edited(dose, {{"set", "status", "\"given\""}}),
                  R"("request":{"method":"POST","url":"MedicationAdministration"},)")}));
    ASSERT_EQ(all.parts.size(), 5u);
    EXPECT_TRUE(all.parts[0].submission);
    EXPECT_THAT(all.parts[1].problems,
                ElementsAre("Bundle.entry[1].resource: is missing; there is nothing to record"));
    EXPECT_THAT(
        all.parts[2].problems,
        ElementsAre(HasSubstr("Bundle.entry[2].request.ifMatch: this hub keeps no resources with versions")));
    EXPECT_THAT(all.parts[3].problems,
                ElementsAre("Bundle.entry[3].resource: found 'Basic'; this hub makes entries "
                            "of MedicationAdministration and Observation only"));
    EXPECT_THAT(all.parts[4].problems, ElementsAre(HasSubstr("Bundle.entry[4].resource.status: ")));
}

TEST(ReadResourcesTest, OtherBundlesAreRefusedWhole) {
    EXPECT_THAT(
        outcomes_of(
            bundle(
                "history",
                {in_entry(
                    weight,
                    R"("fullUrl":"https://a.example/Observation/w1","request":{"method":"POST","url":"Observation"},"response":{"status":"201"},)")}))
            .parts.at(0)
            .problems,
        ElementsAre("Bundle.type: found 'history', expected batch, collection, searchset or transaction; put "
                    "the resources into a collection"));
    EXPECT_THAT(only(R"({"resourceType":"Bundle","type":"collection"})").problems,
                ElementsAre("Bundle.entry: is missing; there is nothing to record"));
    EXPECT_THAT(only(R"({"resourceType":"Patient"})").is_context, true);
    EXPECT_THAT(only(R"({"resourceType":"Nonsense"})").problems, ElementsAre(HasSubstr("Resource: ")));
}

struct RefusalCase {
    std::string name;
    std::vector<Edit> edits;
    Lines problems;
};

std::vector<RefusalCase> refusal_cases() {
    std::vector<RefusalCase> cases;
    std::istringstream lines(test::source_file("tests/daemon/mapping/refused_resources.txt"));
    for (std::string line; std::getline(lines, line);) {
        if (line.starts_with("=== ")) cases.push_back({line.substr(4), {}, {}});
        if (cases.empty() || line.empty() || line.starts_with("===") || line.starts_with("---")) continue;
        if (line.starts_with("set ") || line.starts_with("drop ")) {
            const auto blank = line.find(' ');
            const auto equals = line.find(" = ");
            cases.back().edits.push_back(
                {line.substr(0, blank),
                 line.substr(blank + 1, equals == std::string::npos ? equals : equals - blank - 1),
                 equals == std::string::npos ? "" : line.substr(equals + 3)});
        } else {
            cases.back().problems.push_back(line);
        }
    }
    return cases;
}

bool matches(const std::string& found, const std::string& expected) {
    const auto gap = expected.find("…");
    if (gap == std::string::npos) return found == expected;
    const std::string_view rest = std::string_view(expected).substr(gap + std::string_view("…").size());
    return found.starts_with(expected.substr(0, gap)) && found.ends_with(rest);
}

TEST(RefusedResourcesTest, EveryRefusalNamesThePathAndTheReason) {
    const auto cases = refusal_cases();
    EXPECT_GT(cases.size(), 50u);
    for (const RefusalCase& one : cases) {
        SCOPED_TRACE(one.name);
        const Outcome outcome = only(edited(named(one.name.substr(0, one.name.find(':'))), one.edits));
        EXPECT_FALSE(outcome.submission);
        const bool same = std::equal(outcome.problems.begin(), outcome.problems.end(), one.problems.begin(),
                                     one.problems.end(), matches);
        EXPECT_TRUE(same) << testing::PrintToString(outcome.problems);
    }
}

// The examples that HL7 publishes (npm hl7.fhir.r4.examples 4.0.1 and the like): nobody in them is of this
// home, so each is refused, with a path into itself.
TEST(PublishedExamplesTest, StrangersAreRefusedWithAPath) {
    for (const Release release : fhir::spec::releases) {
        for (const std::string type : {"MedicationAdministration-", "Observation-"}) {
            const auto count = test::for_each_example(
                release,
                [&](const test::Example& example) {
                    SCOPED_TRACE(example.name);
                    const Outcome outcome = only(example.text);
                    EXPECT_FALSE(outcome.submission);
                    ASSERT_FALSE(outcome.problems.empty());
                    EXPECT_TRUE(outcome.problems.front().starts_with(type.substr(0, type.size() - 1) + "."))
                        << outcome.problems.front();
                },
                type);
            EXPECT_GT(count, 10u);
        }
    }
}

// The same example with people of this home in it, and in kilograms.
TEST(PublishedExamplesTest, AWeightOfThisHomeIsTaken) {
    const std::string example = test::published_text(Release::r4, "Observation-example");
    const std::string ours =
        edited(example, {{"set", "subject", R"({"reference":"Patient/p1"})"},
                         {"set", "performer", R"([{"reference":"RelatedPerson/marlow"}])"},
                         {"set", "effectiveDateTime", "\"2026-10-12T08:00:00Z\""},
                         {"drop", "encounter", ""},
                         {"set", "valueQuantity",
                          R"({"value":83.9,"unit":"kg","system":"http://unitsofmeasure.org","code":"kg"})"}});
    EXPECT_THAT(body_of(only(ours)), HasSubstr(R"("type":"weight")"));
    EXPECT_THAT(body_of(only(ours)), HasSubstr(R"("kg":83.9)"));
}

}  // namespace
}  // namespace nightferry::mapping
