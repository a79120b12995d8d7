// Golden files: what each builder writes of the samples in samples.hpp, in R4B and R5. Reviewed by eye
// against the StructureDefinitions in npm hl7.fhir.r4b.examples 4.3.0 and hl7.fhir.r5.examples 5.0.0.
//
// To write new or changed files: NIGHTFERRY_WRITE_GOLDEN=1 build/tests/test_fhir_resource, then review the
// diff.
#include <gtest/gtest.h>

#include <cstdlib>

#include "fhir/json/writer.hpp"
#include "tests/fhir/resource/samples.hpp"
#include "tests/support/files.hpp"

namespace nightferry::fhir::resource {
namespace {

using spec::Release;

template <class T>
json::Document built(const T& sample, Release release) {
    json::Document document;
    put_resource(document.root(), sample, release);
    return document;
}

template <class T>
void expect_golden(const T& sample, const std::string& name) {
    for (const Release release : {Release::r4b, Release::r5}) {
        const auto file = std::filesystem::path(NIGHTFERRY_SOURCE_DIR) / "tests/fhir/resource/golden" /
                          (name + (release == Release::r5 ? ".r5.json" : ".r4b.json"));
        const std::string actual = json::write_pretty(built(sample, release).root());
        if (std::getenv("NIGHTFERRY_WRITE_GOLDEN") != nullptr) test::write_file(file, actual);
        EXPECT_EQ(actual, test::read_file(file)) << file;
    }
}

template <class T>
std::string text(const T& sample, Release release) {
    return json::write(built(sample, release).root());
}

TEST(BuildersTest, WriteEachReleaseAsReviewed) {
    expect_golden(test::administration(), "medication_administration");
    expect_golden(test::observation(), "observation");
    expect_golden(test::summary(), "observation_of_a_period");
    expect_golden(test::provenance(), "provenance");
    expect_golden(test::device(), "device");
}

// Compared element by element in npm hl7.fhir.r4.examples 4.0.1 and hl7.fhir.r4b.examples 4.3.0: of these
// four types only the targets of Observation.subject differ.
TEST(BuildersTest, R4bIsWrittenAsR4) {
    EXPECT_EQ(text(test::administration(), Release::r4), text(test::administration(), Release::r4b));
    EXPECT_EQ(text(test::observation(), Release::r4), text(test::observation(), Release::r4b));
    EXPECT_EQ(text(test::provenance(), Release::r4), text(test::provenance(), Release::r4b));
    EXPECT_EQ(text(test::device(), Release::r4), text(test::device(), Release::r4b));
}

TEST(BuildersTest, AnObservationIsTheSameInEveryRelease) {
    EXPECT_EQ(text(test::observation(), Release::r4), text(test::observation(), Release::r5));
}

// Names as in StructureDefinition-MedicationAdministration.json of hl7.fhir.r4.examples 4.0.1 and
// hl7.fhir.r5.examples 5.0.0; "occurence" is the published spelling.
TEST(MedicationAdministrationTest, UsesTheElementsOfItsRelease) {
    const json::Document r4 = built(test::administration(), Release::r4);
    for (const char* name : {"medicationCodeableConcept", "effectiveDateTime", "reasonCode"})
        EXPECT_NE(r4.root().find(name), nullptr) << name;
    for (const char* name : {"medication", "occurenceDateTime", "recorded", "reason"})
        EXPECT_EQ(r4.root().find(name), nullptr) << name;
    EXPECT_TRUE(r4.root().find("category")->is(json::Kind::object));

    const json::Document r5 = built(test::administration(), Release::r5);
    for (const char* name : {"medicationCodeableConcept", "effectiveDateTime", "reasonCode"})
        EXPECT_EQ(r5.root().find(name), nullptr) << name;
    for (const char* name : {"medication", "occurenceDateTime", "recorded", "reason"})
        EXPECT_NE(r5.root().find(name), nullptr) << name;
    EXPECT_TRUE(r5.root().find("category")->is(json::Kind::array));
}

// The same packages: a home is "community" in ValueSet-medication-admin-category.json (R4) and in the code
// system of ValueSet-medication-admin-location.json (R5).
TEST(MedicationAdministrationTest, NamesTheCategoryInTheCodeSystemOfItsRelease) {
    EXPECT_NE(text(test::administration(), Release::r4)
                  .find(R"("system":"http://terminology.hl7.org/CodeSystem/medication-admin-category")"),
              std::string::npos);
    EXPECT_NE(text(test::administration(), Release::r5)
                  .find(R"("system":"http://terminology.hl7.org/CodeSystem/medication-admin-location")"),
              std::string::npos);
}

TEST(BuildersTest, LeaveOutWhatIsEmpty) {
    MedicationAdministration dose;
    dose.status = "not-done";
    dose.medication.text = "enoxaparin";
    dose.subject.reference = "Patient/p1";
    dose.effective = "2026-11-01T20:00:00+01:00";
    EXPECT_EQ(text(dose, Release::r5),
              R"({"resourceType":"MedicationAdministration","status":"not-done",)"
              R"("medication":{"concept":{"text":"enoxaparin"}},"subject":{"reference":"Patient/p1"},)"
              R"("occurenceDateTime":"2026-11-01T20:00:00+01:00"})");
    Device hub;
    hub.status = "active";
    for (const Release release : spec::releases)
        EXPECT_EQ(text(hub, release), R"({"resourceType":"Device","status":"active"})");
}

}  // namespace
}  // namespace nightferry::fhir::resource
