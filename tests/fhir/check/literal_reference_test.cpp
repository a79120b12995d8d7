// Source: https://hl7.org/fhir/R4/references.html#literal; conditional references:
// https://hl7.org/fhir/R4/http.html#trules
#include "fhir/check/literal_reference.hpp"

#include <gtest/gtest.h>

namespace nightferry::fhir::check {
namespace {

TEST(LiteralReferenceTest, TypeStandsBeforeTheId) {
    EXPECT_EQ(type_in_reference("Patient/1"), "Patient");
    EXPECT_EQ(type_in_reference("https://clinic.example/fhir/Patient/1"), "Patient");
    EXPECT_EQ(type_in_reference("/Patient/1"), "Patient");
}

TEST(LiteralReferenceTest, VersionAndFragmentAreLeftOut) {
    EXPECT_EQ(type_in_reference("Patient/1/_history/2"), "Patient");
    EXPECT_EQ(type_in_reference("https://clinic.example/fhir/Patient/1/_history/2#a"), "Patient");
    EXPECT_EQ(type_in_reference("Patient/1#Group/2"), "Patient");
}

TEST(LiteralReferenceTest, ConditionalReferenceBeginsWithItsType) {
    EXPECT_EQ(type_in_reference("Patient?identifier=http://a.example/Group/1|2"), "Patient");
    // Somewhere on the web a question mark need not be a search.
    EXPECT_EQ(type_in_reference("https://clinic.example/fhir/Patient?name=a"), "");
}

TEST(LiteralReferenceTest, OtherUrlsGiveAWordThatIsNoTypeOrNone) {
    EXPECT_EQ(type_in_reference(""), "");
    EXPECT_EQ(type_in_reference("1"), "");
    EXPECT_EQ(type_in_reference("/"), "");
    EXPECT_EQ(type_in_reference("https://clinic.example/people/1"), "people");
    EXPECT_EQ(type_in_reference("https://clinic.example"), "");
}

}  // namespace
}  // namespace nightferry::fhir::check
