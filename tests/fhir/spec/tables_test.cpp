// The generated tables against facts that a person can look up on the published pages.
#include "fhir/spec/tables.hpp"

#include <gtest/gtest.h>

namespace nightferry::fhir::spec {
namespace {

const Element* element(const Tables& tables, std::string_view structure, std::string_view name) {
    const std::uint16_t index = tables.find_structure(structure);
    if (index == none) return nullptr;
    for (const Element& one : tables.elements_of(tables.structures[index])) {
        if (tables.name_of(one) == name) return &one;
    }
    return nullptr;
}

std::vector<std::string> types(const Tables& tables, const Element& of) {
    std::vector<std::string> names;
    for (const TypeUse& use : tables.types_of(of))
        names.emplace_back(tables.name_of(tables.structures[use.structure]));
    return names;
}

std::vector<std::string> targets(const Tables& tables, const Element& of) {
    std::vector<std::string> names;
    for (const std::uint16_t index : tables.targets_of(tables.types_of(of)[0]))
        names.emplace_back(tables.name_of(tables.structures[index]));
    return names;
}

bool required_code(const Tables& tables, const Element& of, std::string_view code) {
    return of.value_set != none && tables.holds(tables.value_sets[of.value_set], code);
}

// The packages hl7.fhir.r4.examples 4.0.1, hl7.fhir.r4b.examples 4.3.0 and hl7.fhir.r5.examples 5.0.0,
// abstract types not counted.
TEST(TablesTest, EveryResourceTypeOfTheReleaseIsThere) {
    EXPECT_EQ(tables_of(Release::r4).resources.size(), 146U);
    EXPECT_EQ(tables_of(Release::r4b).resources.size(), 141U);
    EXPECT_EQ(tables_of(Release::r5).resources.size(), 158U);
}

TEST(TablesTest, ResourceTypesAreFoundByNameAndAbstractOnesAreNot) {
    for (const Release release : releases) {
        const Tables& tables = tables_of(release);
        for (const std::uint16_t index : tables.resources)
            EXPECT_EQ(tables.find_resource(tables.name_of(tables.structures[index])), index);
        for (const char* name :
             {"", "Resource", "DomainResource", "Element", "observation", "Observations", "A"})
            EXPECT_EQ(tables.find_resource(name), none) << name;
    }
    EXPECT_EQ(tables_of(Release::r4).find_resource("NutritionIntake"), none);
    EXPECT_NE(tables_of(Release::r5).find_resource("NutritionIntake"), none);
}

// https://hl7.org/fhir/R4/observation.html#resource
TEST(TablesTest, ObservationOfR4IsAsPublished) {
    const Tables& tables = tables_of(Release::r4);
    const Element* status = element(tables, "Observation", "status");
    ASSERT_NE(status, nullptr);
    EXPECT_TRUE(status->required() && status->modifier() && !status->list() && !status->choice());
    const Element* value = element(tables, "Observation", "value");
    ASSERT_NE(value, nullptr);
    EXPECT_TRUE(value->choice() && !value->required());
    EXPECT_EQ(types(tables, *value),
              (std::vector<std::string>{"Quantity", "CodeableConcept", "string", "boolean", "integer",
                                        "Range", "Ratio", "SampledData", "time", "dateTime", "Period"}));
    const Element* ranges = element(tables, "Observation.component", "referenceRange");
    ASSERT_NE(ranges, nullptr);
    EXPECT_TRUE(ranges->list());
    EXPECT_EQ(types(tables, *ranges), std::vector<std::string>{"Observation.referenceRange"});
    const Element* subject = element(tables, "Observation", "subject");
    ASSERT_NE(subject, nullptr);
    EXPECT_EQ(targets(tables, *subject),
              (std::vector<std::string>{"Device", "Group", "Location", "Patient"}));
    const Element* focus = element(tables, "Observation", "focus");
    ASSERT_NE(focus, nullptr);
    EXPECT_TRUE(targets(tables, *focus).empty());
}

// https://hl7.org/fhir/R4/valueset-observation-status.html: "corrected" is nested below "amended".
TEST(TablesTest, NestedCodesBelongToTheirValueSet) {
    for (const Release release : releases) {
        const Tables& tables = tables_of(release);
        const Element* status = element(tables, "Observation", "status");
        ASSERT_NE(status, nullptr);
        for (const char* code : {"registered", "preliminary", "final", "amended", "corrected", "cancelled",
                                 "entered-in-error", "unknown"})
            EXPECT_TRUE(required_code(tables, *status, code)) << name_of(release) << code;
        for (const char* code : {"", "Final", "finished", "correcte", "correctedx"})
            EXPECT_FALSE(required_code(tables, *status, code)) << name_of(release) << code;
        const Element* issue = element(tables, "OperationOutcome.issue", "code");
        ASSERT_NE(issue, nullptr);
        EXPECT_TRUE(required_code(tables, *issue, "lock-error"));
        EXPECT_TRUE(required_code(tables, *issue, "multiple-matches"));
    }
}

// https://hl7.org/fhir/R5/medicationadministration.html spells it "occurence".
TEST(TablesTest, ReleasesDifferWhereTheyWerePublishedToDiffer) {
    const Tables& r4 = tables_of(Release::r4);
    const Tables& r5 = tables_of(Release::r5);
    EXPECT_NE(element(r4, "MedicationAdministration", "effective"), nullptr);
    EXPECT_EQ(element(r5, "MedicationAdministration", "effective"), nullptr);
    const Element* occurence = element(r5, "MedicationAdministration", "occurence");
    ASSERT_NE(occurence, nullptr);
    EXPECT_TRUE(occurence->choice() && occurence->required());
    EXPECT_FALSE(element(r4, "MedicationAdministration", "category")->list());
    EXPECT_TRUE(element(r5, "MedicationAdministration", "category")->list());
    EXPECT_EQ(types(r5, *element(r5, "MedicationAdministration", "medication")),
              std::vector<std::string>{"CodeableReference"});
    EXPECT_TRUE(required_code(r5, *element(r5, "OperationOutcome.issue", "severity"), "success"));
    EXPECT_FALSE(required_code(r4, *element(r4, "OperationOutcome.issue", "severity"), "success"));
}

// https://hl7.org/fhir/R4/medicationadministration-definitions.html#MedicationAdministration.dosage.dose
TEST(TablesTest, SimpleQuantitiesAreMarked) {
    const Tables& tables = tables_of(Release::r4);
    const Element* dose = element(tables, "MedicationAdministration.dosage", "dose");
    ASSERT_NE(dose, nullptr);
    EXPECT_EQ(tables.types_of(*dose)[0].simple_quantity, 1);
    const Element* value = element(tables, "Observation", "value");
    EXPECT_EQ(tables.types_of(*value)[0].simple_quantity, 0);
}

TEST(TablesTest, SystemsAreComparedWhenGiven) {
    const Tables& tables = tables_of(Release::r4);
    const Element* status = element(tables, "Observation", "status");
    const ValueSet& value_set = tables.value_sets[status->value_set];
    EXPECT_EQ(tables.url_of(value_set), "http://hl7.org/fhir/ValueSet/observation-status");
    EXPECT_TRUE(tables.holds(value_set, "final", "http://hl7.org/fhir/observation-status"));
    EXPECT_FALSE(tables.holds(value_set, "final", "http://example.org/observation-status"));
}

}  // namespace
}  // namespace nightferry::fhir::spec
