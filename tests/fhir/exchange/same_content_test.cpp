#include "fhir/exchange/same_content.hpp"

#include <gtest/gtest.h>

#include "fhir/json/reader.hpp"

namespace nightferry::fhir::exchange {
namespace {

bool same(const char* ours, const char* theirs) {
    const auto our_document = json::read(ours);
    const auto their_document = json::read(theirs);
    EXPECT_TRUE(our_document && their_document);
    return same_content(our_document->root(), their_document->root());
}

TEST(SameContentTest, IgnoresWhatServersAdd) {
    EXPECT_TRUE(same(R"({"status":"final"})",
                     R"({"id":"7","meta":{"versionId":"2"},"text":{"div":"x"},"status":"final"})"));
}

TEST(SameContentTest, ComparesDecimalsByValue) {
    EXPECT_TRUE(same(R"({"v":0.180})", R"({"v":0.18})"));
    EXPECT_TRUE(same(R"({"v":1000.00})", R"({"v":1e3})"));
    EXPECT_TRUE(same(R"({"v":0})", R"({"v":0.00})"));
    EXPECT_FALSE(same(R"({"v":0.18})", R"({"v":0.019})"));
    EXPECT_FALSE(same(R"({"v":18})", R"({"v":1.8})"));
    EXPECT_FALSE(same(R"({"v":-1})", R"({"v":1})"));
}

TEST(SameContentTest, SeesWhatTheClinicChanged) {
    EXPECT_FALSE(same(R"({"status":"completed"})", R"({"status":"entered-in-error"})"));
    EXPECT_FALSE(same(R"({"status":"completed"})", R"({"status":"completed","note":[{"text":"seen"}]})"));
    EXPECT_FALSE(same(R"({"status":"completed","note":[{"text":"ours"}]})", R"({"status":"completed"})"));
    EXPECT_FALSE(same(R"({"c":[{"a":1}]})", R"({"c":[{"a":1},{"b":2}]})"));
    EXPECT_FALSE(same(R"({"c":[{"id":"x"}]})", R"({"c":[{"id":"y"}]})"));
}

TEST(SameContentTest, AllowsABaseUrlBeforeAReference) {
    EXPECT_TRUE(same(R"({"s":{"reference":"Patient/p1"}})",
                     R"({"s":{"reference":"https://clinic.example/fhir/Patient/p1"}})"));
    EXPECT_FALSE(same(R"({"s":{"reference":"Patient/p1"}})",
                      R"({"s":{"reference":"https://clinic.example/fhir/XPatient/p1"}})"));
    EXPECT_FALSE(same(R"({"s":{"reference":"Patient/p1"}})", R"({"s":{"reference":"Patient/p12"}})"));
}

TEST(SameContentTest, TakesWhateverReplacedAPlaceholder) {
    EXPECT_TRUE(same(R"({"partOf":[{"reference":"urn:uuid:a"}]})",
                     R"({"partOf":[{"reference":"MedicationAdministration/9"}]})"));
    EXPECT_TRUE(same(R"({"partOf":[{"reference":"urn:uuid:a"}]})",
                     R"({"partOf":[{"type":"MedicationAdministration","identifier":{"value":"x"}}]})"));
}

}  // namespace
}  // namespace nightferry::fhir::exchange
