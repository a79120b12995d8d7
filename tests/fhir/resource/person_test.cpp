#include "fhir/resource/person.hpp"

#include <gtest/gtest.h>

#include "fhir/json/reader.hpp"
#include "tests/support/published_examples.hpp"

namespace nightferry::fhir::resource {
namespace {

using test::published;

// Patient-example and RelatedPerson-benedicte of each package.
TEST(PersonTest, ReadsThePublishedPatientAndRelatedPersonOfEachRelease) {
    for (const spec::Release release : spec::releases) {
        const auto patient = read_person(published(release, "Patient-example").root());
        ASSERT_TRUE(patient);
        EXPECT_EQ(patient->type, "Patient");
        EXPECT_EQ(patient->id, "example");
        EXPECT_EQ(patient->active, true);
        ASSERT_EQ(patient->identifier.size(), 1U);
        EXPECT_EQ(patient->identifier[0].system, "urn:oid:1.2.36.146.595.217.0.1");
        EXPECT_EQ(patient->identifier[0].value, "12345");
        const auto carer = read_person(published(release, "RelatedPerson-benedicte").root());
        ASSERT_TRUE(carer);
        EXPECT_EQ(carer->type, "RelatedPerson");
        EXPECT_EQ(carer->id, "benedicte");
        EXPECT_EQ(carer->active, true);
        EXPECT_EQ(carer->patient.reference, "Patient/example");
        EXPECT_EQ(carer->identifier.at(0).value, "272117510400399");
    }
}

// https://hl7.org/fhir/R4/patient.html#link
TEST(PersonTest, NamesTheRecordThatReplacedThisOne) {
    const auto person = read_person(
        json::read(R"({"resourceType":"Patient","active":false,"link":[{"other":{"reference":"Patient/1"},)"
                   R"("type":"seealso"},{"other":{"reference":"Patient/2"},"type":"replaced-by"}]})")
            ->root());
    ASSERT_TRUE(person);
    EXPECT_EQ(person->active, false);
    EXPECT_EQ(person->replaced_by->reference, "Patient/2");
}

TEST(PersonTest, OtherResourcesAreNobody) {
    EXPECT_FALSE(read_person(json::read(R"({"resourceType":"Practitioner","id":"p"})")->root()));
    EXPECT_FALSE(read_person(json::read("7")->root()));
}

}  // namespace
}  // namespace nightferry::fhir::resource
