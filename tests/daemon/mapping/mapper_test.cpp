#include "daemon/mapping/mapper.hpp"

#include <gtest/gtest.h>

#include "daemon/mapping/codes.hpp"
#include "fhir/check/validator.hpp"
#include "fhir/json/writer.hpp"
#include "tests/support/household.hpp"

namespace nightferry::mapping {
namespace {

namespace json = fhir::json;

const EntryId id = *EntryId::parse("11111111-1111-4111-8111-111111111111");

entry::Version dose(Decimal amount, entry::Unit unit, const std::string& medicine = "enoxaparin-100") {
    entry::Version version;
    version.revision = 1;
    version.submission.id = id;
    version.submission.recorded_by = "marlow";
    version.content = {id,       "juniper",    {test::test_now(), std::chrono::minutes{0}},
                       "marlow", std::nullopt, entry::DoseGiven{medicine, {amount, unit}, {}, {}, {}}};
    return version;
}

Identities identities() {
    return {"urn:example:test-home", {{"juniper", "Patient/p1"}}, {}, ""};
}

std::string dose_value(const entry::Version& version) {
    const entry::Household household = test::household();
    json::Document resource;
    EXPECT_TRUE(Mapper(household, identities()).put_resource(resource.root(), version, {}));
    const json::Value& quantity = *resource.root().find("dosage")->find("dose");
    return std::string(quantity.find("value")->text()) + " " + std::string(quantity.string_at("code"));
}

// Volume times strength: 100 mg/mL is the published strength of enoxaparin syringes and vials, 10,000 IU/mL
// one of dalteparin (US and UK product labels).
TEST(MapperTest, VolumesBecomeExactMass) {
    EXPECT_EQ(dose_value(dose(Decimal(18, 2), entry::Unit::millilitre)), "18 mg");
    EXPECT_EQ(dose_value(dose(Decimal(65, 3), entry::Unit::millilitre)), "6.5 mg");
    EXPECT_EQ(dose_value(dose(Decimal(29, 2), entry::Unit::millilitre)), "29 mg");
    EXPECT_EQ(dose_value(dose(Decimal(25, 2), entry::Unit::millilitre, "dalteparin-10000")), "2500 [IU]");
}

TEST(MapperTest, AmountsGivenInMassKeepTheirDigits) {
    EXPECT_EQ(dose_value(dose(Decimal(200, 1), entry::Unit::milligram)), "20.0 mg");
}

// https://hl7.org/fhir/R4/references.html#contained: what is contained is referred to by "#" and its id.
TEST(MapperTest, CarersCanBeContainedInWhatNamesThem) {
    const entry::Household household = test::household();
    entry::Version version = dose(Decimal(18, 2), entry::Unit::millilitre);
    std::get<entry::DoseGiven>(version.content.what).checked_by = "marlow";
    Identities contained = identities();
    contained.contains_carers = true;
    for (const fhir::spec::Release release : fhir::spec::releases) {
        const Mapper mapper(household, contained, release);
        json::Document resource;
        ASSERT_TRUE(mapper.put_resource(resource.root(), version, {}));
        json::Document provenance;
        mapper.put_provenance(provenance.root(), version, "MedicationAdministration/m1");
        for (const json::Document* one : {&resource, &provenance}) {
            const json::Value& persons = *one->root().find("contained");
            ASSERT_EQ(persons.size(), 1u) << "each person once";
            EXPECT_EQ(persons.front().find("patient")->string_at("reference"), "Patient/p1");
            const auto text = json::write(one->root());
            EXPECT_NE(text.find("\"#" + std::string(persons.front().string_at("id")) + "\""),
                      std::string::npos);
            fhir::check::Options errors_only;
            errors_only.warnings = false;
            const auto report = fhir::check::validate(one->root(), release, errors_only);
            for (const auto& issue : report.issues)
                ADD_FAILURE() << fhir::spec::name_of(release) << " " << issue.expression << ": "
                              << issue.text;
        }
    }
}

// dom-3 of https://hl7.org/fhir/R4/domainresource.html: what is contained is referred to. Who did not give a
// dose is named nowhere but in the Provenance.
TEST(MapperTest, DoseThatWasNotGivenContainsNobody) {
    const entry::Household household = test::household();
    entry::Version version = dose(Decimal(18, 2), entry::Unit::millilitre);
    version.content.what = entry::DoseNotGiven{"enoxaparin-100", entry::WhyNotGiven::forgot, {}};
    Identities contained = identities();
    contained.contains_carers = true;
    for (const fhir::spec::Release release : fhir::spec::releases) {
        json::Document resource;
        ASSERT_TRUE(Mapper(household, contained, release).put_resource(resource.root(), version, {}));
        EXPECT_EQ(resource.root().string_at("resourceType"), "MedicationAdministration");
        EXPECT_EQ(resource.root().find("contained"), nullptr);
        fhir::check::Options errors_only;
        errors_only.warnings = false;
        for (const auto& issue : fhir::check::validate(resource.root(), release, errors_only).issues)
            ADD_FAILURE() << fhir::spec::name_of(release) << " " << issue.expression << ": " << issue.text;
    }
}

// The R5 names: StructureDefinition-MedicationAdministration.json of npm hl7.fhir.r5.examples 5.0.0.
TEST(MapperTest, ClinicsThatSpeakR5GetR5) {
    const entry::Household household = test::household();
    const entry::Version version = dose(Decimal(18, 2), entry::Unit::millilitre);
    json::Document r5;
    ASSERT_TRUE(
        Mapper(household, identities(), fhir::spec::Release::r5).put_resource(r5.root(), version, {}));
    EXPECT_EQ(r5.root().string_at("occurenceDateTime"), to_text(version.content.time));
    EXPECT_EQ(r5.root().string_at("recorded"), to_text(version.recorded()));
    EXPECT_EQ(r5.root().find("effectiveDateTime"), nullptr);
    json::Document r4;
    ASSERT_TRUE(Mapper(household, identities()).put_resource(r4.root(), version, {}));
    EXPECT_EQ(r4.root().string_at("effectiveDateTime"), to_text(version.content.time));
    EXPECT_EQ(r4.root().find("recorded"), nullptr);
}

TEST(MapperTest, APersonWithoutAPatientAtThisClinicIsNotSent) {
    const entry::Household household = test::household();
    json::Document resource;
    const auto mapped = Mapper(household, {"urn:x:y", {}, {}, ""})
                            .put_resource(resource.root(), dose(Decimal(18, 2), entry::Unit::millilitre), {});
    ASSERT_FALSE(mapped);
    EXPECT_EQ(mapped.error().code, Errc::setup);
}

TEST(MapperTest, PeopleTheClinicDoesNotKnowAreNamedByIdentifier) {
    const entry::Household household = test::household();
    json::Document resource;
    ASSERT_TRUE(Mapper(household, identities())
                    .put_resource(resource.root(), dose(Decimal(18, 2), entry::Unit::millilitre), {}));
    const std::string actor = json::write(*resource.root().find("performer")->front().find("actor"));
    EXPECT_EQ(
        actor,
        R"({"type":"RelatedPerson","identifier":{"system":"urn:example:test-home","value":"carer:marlow"},)"
        R"("display":"Marlow Exampleton"})");
}

// Some servers replace an entry's fullUrl wherever it occurs in a bundle, so it must occur nowhere else.
TEST(MapperTest, TheFullUrlIsNotTheIdentifier) {
    const entry::Household household = test::household();
    EXPECT_NE(Mapper::full_url(id), Mapper(household, identities()).identifier(id).value);
    EXPECT_EQ(Mapper::full_url(id), Mapper::full_url(id));
}

TEST(MapperTest, EveryRevisionHasItsOwnProvenance) {
    EXPECT_EQ(Mapper::provenance_id(id, 1), Mapper::provenance_id(id, 1));
    EXPECT_NE(Mapper::provenance_id(id, 1), Mapper::provenance_id(id, 2));
}

TEST(SiteCodesTest, AbdomenIsCodedByQuadrantOnlyWhenTheHeightIsKnown) {
    entry::Site site{entry::Region::abdomen, entry::Side::left, Decimal(6, 0), Decimal(25, 1)};
    EXPECT_EQ(mapping::site(site).coding.front().code, "LUAQ");
    site.y_cm = Decimal(-25, 1);
    EXPECT_EQ(mapping::site(site).coding.front().code, "LLAQ");
    site.y_cm = Decimal(0, 0);
    EXPECT_EQ(mapping::site(site).coding.size(), 1U);
    site.y_cm.reset();
    EXPECT_EQ(mapping::site(site).coding.front().code, "42972002");
}

TEST(FindingCodesTest, EveryKindHasWordsAndALocalCode) {
    for (int kind = 0; kind <= static_cast<int>(entry::FindingKind::other); ++kind) {
        entry::Finding seen;
        seen.what = static_cast<entry::FindingKind>(kind);
        for (const auto& dose : {std::optional<EntryId>(), std::optional(id)}) {
            seen.dose = dose;
            const auto concept_ = finding(seen);
            EXPECT_FALSE(concept_.text.empty()) << kind;
            EXPECT_EQ(concept_.coding.back().system, local_codes) << kind;
            EXPECT_FALSE(concept_.coding.back().code.empty()) << kind;
        }
    }
}

// Displays: SNOMED CT Global Patient Set of September 2020, fully specified names (npm
// hl7.terminology.r4 7.0.1).
TEST(FindingCodesTest, OnlyWhatNamesItsDoseIsSaidToBeAtAnInjectionSite) {
    for (int kind = 0; kind <= static_cast<int>(entry::FindingKind::other); ++kind) {
        entry::Finding seen;
        seen.what = static_cast<entry::FindingKind>(kind);
        for (const auto& one : finding(seen).coding)
            EXPECT_EQ(one.display.find("Injection site"), std::string::npos) << one.display;
    }
    entry::Finding bruise;
    bruise.what = entry::FindingKind::bruise;
    EXPECT_EQ(finding(bruise).coding.front().code, "302227002");
    EXPECT_EQ(finding(bruise).coding.front().display, "Ecchymosis (finding)");
    bruise.dose = id;
    EXPECT_EQ(finding(bruise).coding.front().code, "95401009");
    EXPECT_EQ(finding(bruise).coding.front().display, "Injection site bruising (disorder)");
}

// Codes: SNOMED CT in the value set Patient Reason (2.16.840.1.113883.3.526.3.1008) and the Global Patient
// Set.
TEST(ReasonCodesTest, OnlyAPatientWhoGivesTheDosesCanBeTheOneWhoForgot) {
    const auto reason = [](const std::string& by, const std::string& recorded_by) {
        const entry::Household household = test::household();
        entry::Version version = dose(Decimal(18, 2), entry::Unit::millilitre);
        version.content.what = entry::DoseNotGiven{"enoxaparin-100", entry::WhyNotGiven::forgot};
        version.content.by = by;
        version.submission.recorded_by = recorded_by;
        json::Document resource;
        EXPECT_TRUE(Mapper(household, identities()).put_resource(resource.root(), version, {}));
        return json::write(*resource.root().find("statusReason"));
    };
    for (const std::string recorded_by : {"marlow", "self"}) {
        EXPECT_NE(reason("self", recorded_by).find("\"408367005\""), std::string::npos) << recorded_by;
        const std::string carer_forgot = reason("marlow", recorded_by);
        EXPECT_EQ(carer_forgot.find("408367005"), std::string::npos) << recorded_by;
        EXPECT_NE(carer_forgot.find("\"371900001\""), std::string::npos) << recorded_by;
        EXPECT_NE(carer_forgot.find("\"forgot\""), std::string::npos) << recorded_by;
        EXPECT_NE(carer_forgot.find("\"text\":\"forgotten\""), std::string::npos) << recorded_by;
    }
}

TEST(SubstanceTest, AnUnknownSubstanceGoesOutAsText) {
    EXPECT_TRUE(substance("somethingparin", "somethingparin 10 mg/mL").coding.empty());
    EXPECT_EQ(substance("enoxaparin", "x").coding.front().code, "B01AB05");
}

}  // namespace
}  // namespace nightferry::mapping
