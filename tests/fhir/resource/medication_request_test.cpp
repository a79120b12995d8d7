#include "fhir/resource/medication_request.hpp"

#include <gtest/gtest.h>

#include "fhir/json/reader.hpp"
#include "tests/support/published_examples.hpp"

namespace nightferry::fhir::resource {
namespace {

using spec::Release;
using test::published;
using testing::ElementsAre;

MedicationRequest order(const json::Document& document) {
    auto read = read_medication_request(document.root());
    EXPECT_TRUE(read);
    return read.value_or(MedicationRequest());
}

MedicationRequest written(const std::string& members) {
    return order(*json::read(R"({"resourceType":"MedicationRequest",)" + members + "}"));
}

// MedicationRequest-medrx0320 of each package: insulin under the skin; R5 writes the medicine otherwise.
TEST(MedicationRequestTest, ReadsThePublishedInjectionOfEachRelease) {
    for (const Release release : spec::releases) {
        const MedicationRequest insulin = order(published(release, "MedicationRequest-medrx0320"));
        EXPECT_EQ(insulin.id, "medrx0320");
        EXPECT_EQ(insulin.status, "completed");
        EXPECT_EQ(insulin.intent, "order");
        EXPECT_EQ(insulin.subject.reference, "Patient/pat1");
        ASSERT_EQ(insulin.identifier.size(), 1U);
        EXPECT_EQ(insulin.identifier[0].value, "12345689");
        ASSERT_EQ(insulin.medication.coding.size(), 1U);
        EXPECT_EQ(insulin.medication.coding[0].code, "285018");
        ASSERT_EQ(insulin.dosage.size(), 1U);
        const MedicationRequest::Instruction& dose = insulin.dosage[0];
        ASSERT_TRUE(dose.dose);
        EXPECT_EQ(dose.dose->value, "20");
        EXPECT_EQ(dose.dose->code, "U");
        EXPECT_EQ(dose.timing.frequency, "3");
        EXPECT_EQ(dose.timing.period, "1");
        EXPECT_EQ(dose.timing.period_unit, "d");
        EXPECT_EQ(dose.route.coding.at(0).code, "263887005");
        EXPECT_FALSE(dose.as_needed);
        EXPECT_FALSE(insulin.has_unknown_modifier);
    }
}

// MedicationRequest-medrx0321: the medicine is a contained resource; three instructions.
TEST(MedicationRequestTest, FindsTheCodeOfAContainedMedication) {
    for (const Release release : spec::releases) {
        const MedicationRequest insulin = order(published(release, "MedicationRequest-medrx0321"));
        EXPECT_EQ(insulin.medication_reference.reference, "#med0307");
        ASSERT_EQ(insulin.medication.coding.size(), 1U);
        EXPECT_EQ(insulin.medication.coding[0].code, "0169-7501-11");
        ASSERT_EQ(insulin.dosage.size(), 3U);
        EXPECT_THAT(insulin.dosage[0].timing.when, ElementsAre("ACM"));
        EXPECT_EQ(insulin.dosage[1].dose->value, "15");
    }
}

// MedicationRequest-medrx0302: a unit outside UCUM keeps its words but gives no UCUM code. Only the R5
// edition bounds the second instruction to four days.
TEST(MedicationRequestTest, ReadsUnitsAndBounds) {
    const MedicationRequest r4 = order(published(Release::r4, "MedicationRequest-medrx0302"));
    ASSERT_EQ(r4.dosage.size(), 2U);
    EXPECT_EQ(r4.dosage[0].dose->unit, "TAB");
    EXPECT_EQ(r4.dosage[0].dose->code, "");
    EXPECT_FALSE(r4.dosage[1].timing.bounds.duration);
    const MedicationRequest r5 = order(published(Release::r5, "MedicationRequest-medrx0302"));
    ASSERT_TRUE(r5.dosage.at(1).timing.bounds.duration);
    EXPECT_EQ(r5.dosage[1].timing.bounds.duration->value, "4");
    EXPECT_EQ(r5.dosage[1].timing.bounds.duration->code, "d");
}

// MedicationRequest-medrx0335: at nine o'clock. -medrx0305: every 6 to 12 hours when needed, within some
// days. -medrx0301: one to two tablets.
TEST(MedicationRequestTest, ReadsTimesOfTheDayRangesAndAsNeeded) {
    for (const Release release : spec::releases) {
        const MedicationRequest timed = order(published(release, "MedicationRequest-medrx0335"));
        EXPECT_THAT(timed.dosage.at(0).timing.time_of_day, ElementsAre("09:00:00"));
        const MedicationRequest spaced = order(published(release, "MedicationRequest-medrx0305"));
        EXPECT_TRUE(spaced.dosage.at(0).as_needed);
        EXPECT_EQ(spaced.dosage[0].timing.period, "6");
        EXPECT_EQ(spaced.dosage[0].timing.period_max, "12");
        EXPECT_EQ(spaced.dosage[0].timing.period_unit, "h");
        EXPECT_EQ(spaced.dosage[0].timing.bounds.start, "2015-01-15");
        EXPECT_EQ(spaced.dosage[0].timing.bounds.end, "2015-01-20");
        const MedicationRequest between = order(published(release, "MedicationRequest-medrx0301"));
        EXPECT_FALSE(between.dosage.at(0).dose);
        EXPECT_EQ(between.dosage[0].dose_low->value, "1");
        EXPECT_EQ(between.dosage[0].dose_high->value, "2");
    }
}

TEST(MedicationRequestTest, DecimalsKeepTheirText) {
    const MedicationRequest read = written(
        R"("dosageInstruction":[{"doseAndRate":[{"doseQuantity":{"value":40.0,"code":"mg",)"
        R"("system":"http://unitsofmeasure.org"}}],"timing":{"repeat":{"period":0.50,"boundsPeriod":)"
        R"({"start":"2026-11-01","end":"2026-12-01"}}}},)"
        R"({"timing":{"repeat":{"boundsRange":{"low":{"value":5},"high":{"value":7.0}}}},"doseAndRate":{"doseRange":{"low":{"value":1.10},"high":{"value":2}}}}])");
    EXPECT_EQ(read.dosage.at(0).dose->value, "40.0");
    EXPECT_EQ(read.dosage[0].timing.period, "0.50");
    EXPECT_EQ(read.dosage[0].timing.bounds.start, "2026-11-01");
    EXPECT_EQ(read.dosage[0].timing.bounds.end, "2026-12-01");
    EXPECT_FALSE(read.dosage.at(1).dose);
    EXPECT_EQ(read.dosage[1].timing.bounds.duration_low->value, "5");
    EXPECT_EQ(read.dosage[1].timing.bounds.duration_high->value, "7.0");
    EXPECT_EQ(read.dosage[1].dose_low->value, "1.10");
    EXPECT_EQ(read.dosage[1].dose_high->value, "2");
}

// https://hl7.org/fhir/R4/extensibility.html#modifierExtension: what is not understood must not be ignored.
TEST(MedicationRequestTest, UnknownModifiersAndProhibitionsShow) {
    EXPECT_TRUE(written(R"("implicitRules":"urn:x")").has_unknown_modifier);
    EXPECT_TRUE(written(R"("modifierExtension":[{"url":"urn:x"}])").has_unknown_modifier);
    EXPECT_TRUE(
        written(R"("dosageInstruction":[{},{"modifierExtension":[{"url":"urn:x"}]}])").has_unknown_modifier);
    EXPECT_TRUE(written(R"("doNotPerform":true)").do_not_perform);
    EXPECT_FALSE(written(R"("doNotPerform":false)").do_not_perform);
}

// What is beside the parts that are read has to be told by whoever compares.
TEST(MedicationRequestTest, WhatElseAnInstructionSaysIsNamed) {
    const MedicationRequest read = written(
        R"("authoredOn":"2026-11-01","dosageInstruction":[{"sequence":2,"patientInstruction":"x","maxDosePerPeriod":{},)"
        R"("_text":{},"timing":{"repeat":{"count":3,"period":1,"offset":30}},"doseAndRate":[{"doseQuantity":{"value":1},)"
        R"("rateQuantity":{"value":2}},{"doseQuantity":{"value":3}}]},{"text":"plain"}])");
    EXPECT_EQ(read.authored_on, "2026-11-01");
    EXPECT_EQ(read.dosage.at(0).sequence, "2");
    EXPECT_TRUE(read.dosage[0].has_rate);
    EXPECT_TRUE(read.dosage[0].has_more_doses);
    EXPECT_THAT(read.dosage[0].beyond, ElementsAre("patientInstruction", "maxDosePerPeriod",
                                                   "timing.repeat.count", "timing.repeat.offset"));
    EXPECT_TRUE(read.dosage.at(1).beyond.empty());
}

// MedicationRequest-medrx0321: insulin of 100 units per mL, in a Ratio in R4 and as strengthRatio in R5.
TEST(MedicationTest, ReadsTheStrengthOfASingleIngredient) {
    for (const Release release : spec::releases) {
        const MedicationRequest insulin = order(published(release, "MedicationRequest-medrx0321"));
        ASSERT_TRUE(insulin.strength) << spec::name_of(release);
        EXPECT_EQ(insulin.strength->amount.value, "100");
        EXPECT_EQ(insulin.strength->per.value, "1");
    }
    const auto read = [](const std::string& members) {
        return read_medication(json::read(R"({"resourceType":"Medication")" + members + "}")->root());
    };
    const std::string ratio = R"({"strength":{"numerator":{"value":5},"denominator":{"value":2}}})";
    EXPECT_TRUE(read(R"(,"ingredient":[)" + ratio + R"(,{"isActive":false}])")->strength);
    EXPECT_FALSE(read(R"(,"ingredient":[)" + ratio + "," + ratio + "]")->strength) << "a mixture";
    EXPECT_FALSE(read(R"(,"modifierExtension":[{"url":"urn:x"}])"));
    EXPECT_FALSE(read_medication(json::read(R"({"resourceType":"MedicationRequest"})")->root()));
}

// https://hl7.org/fhir/R5/dosage.html: R5 splits R4's asNeeded[x].
TEST(MedicationRequestTest, AsNeededIsReadInBothShapes) {
    for (const char* member : {R"("asNeededBoolean":true)", R"("asNeededCodeableConcept":{"text":"pain"})",
                               R"("asNeeded":true)", R"("asNeededFor":[{"text":"pain"}])"}) {
        EXPECT_TRUE(written(R"("dosageInstruction":[{)" + std::string(member) + "}]").dosage.at(0).as_needed)
            << member;
    }
    EXPECT_FALSE(written(R"("dosageInstruction":[{"asNeeded":false}])").dosage.at(0).as_needed);
}

TEST(MedicationRequestTest, MisshapenPartsReadAsAbsent) {
    const MedicationRequest read =
        written(R"("status":["active"],"medication":"x","subject":[],"contained":{},"identifier":"7",)"
                R"("dosageInstruction":{"timing":[],"doseAndRate":[{"doseQuantity":{"value":"20"}},)"
                R"({"doseQuantity":{"value":5}}]})");
    EXPECT_EQ(read.status, "");
    EXPECT_TRUE(read.identifier.empty());
    EXPECT_TRUE(is_empty(read.medication));
    ASSERT_EQ(read.dosage.size(), 1U);
    EXPECT_FALSE(read.dosage[0].dose);
    EXPECT_FALSE(read_medication_request(json::read(R"({"resourceType":"Medication"})")->root()));
}

}  // namespace
}  // namespace nightferry::fhir::resource
