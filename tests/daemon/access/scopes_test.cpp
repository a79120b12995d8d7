// Scopes as https://hl7.org/fhir/smart-app-launch/STU2/scopes-and-launch-context.html defines them.
#include "daemon/access/scopes.hpp"

namespace nightferry::access {

namespace {

std::string missing(std::string_view granted, const std::vector<Need>& needs = usual_needs()) {
    std::string all;
    for (const Missing& one : missing_from(granted, needs))
        all += (all.empty() ? "" : " ") + one.type + "." + one.letters;
    return all;
}

TEST(ScopesTest, BothFormsAskForAllThatIsNeeded) {
    EXPECT_EQ(scopes_for(usual_needs(), ScopeForm::v2),
              "system/MedicationAdministration.crus system/Observation.crus system/Provenance.cu "
              "system/Patient.rs");
    EXPECT_EQ(
        scopes_for(usual_needs(), ScopeForm::v1),
        "system/MedicationAdministration.read system/MedicationAdministration.write system/Observation.read "
        "system/Observation.write system/Provenance.write system/Patient.read");
}

TEST(ScopesTest, WhatWasAskedForIsEnoughInEitherForm) {
    for (const ScopeForm form : {ScopeForm::v1, ScopeForm::v2})
        EXPECT_EQ(missing(scopes_for(usual_needs(), form)), "");
}

TEST(ScopesTest, WildcardsAreEnough) {
    EXPECT_EQ(missing("system/*.cruds"), "");
    EXPECT_EQ(missing("system/*.*"), "");
    EXPECT_EQ(missing("openid system/*.read system/*.write"), "");
}

TEST(ScopesTest, SeveralScopesAddUp) {
    const std::vector<Need> needs{{"Observation", "crus"}};
    EXPECT_EQ(missing("system/Observation.c system/Observation.u system/*.rs", needs), "");
    EXPECT_EQ(missing("system/Observation.read system/Observation.write", needs), "");
}

TEST(ScopesTest, WhatIsLeftOutIsNamed) {
    EXPECT_EQ(missing("system/MedicationAdministration.crus system/Observation.rs system/Patient.rs"),
              "Observation.cu Provenance.cu");
    EXPECT_EQ(missing("system/*.read"), "MedicationAdministration.cu Observation.cu Provenance.cu");
}

TEST(ScopesTest, NothingGrantedLacksEverything) {
    for (const char* granted : {"", "   ", "openid profile", "launch/patient", "system/Observation", "/.",
                                "system/.c", "Observation.cruds", "admin/Observation.cruds"})
        EXPECT_EQ(missing(granted, {{"Observation", "cu"}}), "Observation.cu") << granted;
}

TEST(ScopesTest, LimitedScopeGrantsNothingForSure) {
    EXPECT_EQ(missing("system/Observation.crus?category=laboratory", {{"Observation", "c"}}),
              "Observation.c");
}

TEST(ScopesTest, InWords) {
    EXPECT_EQ(in_words({"Observation", "c"}), "create Observation");
    EXPECT_EQ(in_words({"Observation", "cu"}), "create and update Observation");
    EXPECT_EQ(in_words({"Observation", "crus"}), "create, read, update and search for Observation");
}

}  // namespace

}  // namespace nightferry::access
