#include "fhir/resource/capability_statement.hpp"

#include <gtest/gtest.h>

#include "fhir/json/reader.hpp"
#include "tests/support/published_examples.hpp"

namespace nightferry::fhir::resource {
namespace {

using spec::Release;
using test::published;
using testing::ElementsAre;

CapabilityStatement statement(const json::Document& document) {
    auto read = read_capability_statement(document.root());
    EXPECT_TRUE(read);
    return read.value_or(CapabilityStatement());
}

CapabilityStatement written(const char* text) {
    return statement(*json::read(text));
}

// CapabilityStatement-example of each package.
TEST(CapabilityStatementTest, ReadsThePublishedExampleOfEachRelease) {
    for (const Release release : spec::releases) {
        const CapabilityStatement ehr = statement(published(release, "CapabilityStatement-example"));
        EXPECT_EQ(ehr.release, release);
        EXPECT_EQ(ehr.software_name, "EHR");
        EXPECT_EQ(ehr.software_version, "0.00.020.2134");
        EXPECT_THAT(ehr.formats, ElementsAre("xml", "json"));
        EXPECT_TRUE(ehr.speaks_json());
        EXPECT_THAT(ehr.interactions, ElementsAre("transaction", "history-system"));
        EXPECT_TRUE(ehr.can("transaction"));
        EXPECT_FALSE(ehr.can("batch"));
        EXPECT_THAT(ehr.security_services, ElementsAre("SMART-on-FHIR"));
        ASSERT_EQ(ehr.types.size(), 1U);
        const CapabilityStatement::Type* patient = ehr.type("Patient");
        ASSERT_NE(patient, nullptr);
        EXPECT_TRUE(patient->can("update"));
        EXPECT_FALSE(patient->can("delete"));
        EXPECT_EQ(patient->versioning, "versioned-update");
        EXPECT_EQ(patient->conditional_create, true);
        EXPECT_EQ(patient->update_create, false);
        EXPECT_EQ(patient->conditional_update, false);
        EXPECT_TRUE(patient->can_search_by("identifier"));
        EXPECT_EQ(patient->search_parameters.front().type, "token");
        EXPECT_EQ(ehr.type("Observation"), nullptr);
    }
    EXPECT_EQ(statement(published(Release::r4b, "CapabilityStatement-example")).fhir_version,
              "4.3.0-cibuild");
}

// CapabilityStatement-base: everything the standard has, up to 867 kB.
TEST(CapabilityStatementTest, ReadsTheLargestPublishedStatement) {
    const std::map<Release, std::size_t> types{{Release::r4, 145}, {Release::r4b, 140}, {Release::r5, 157}};
    for (const Release release : spec::releases) {
        const CapabilityStatement base = statement(published(release, "CapabilityStatement-base"));
        EXPECT_EQ(base.fhir_version, spec::version_of(release));
        EXPECT_EQ(base.types.size(), types.at(release));
        EXPECT_TRUE(base.can("transaction"));
        EXPECT_TRUE(base.can("batch"));
        const CapabilityStatement::Type* type = base.type("MedicationAdministration");
        ASSERT_NE(type, nullptr);
        EXPECT_EQ(type->conditional_create, true);
        EXPECT_EQ(type->update_create, std::nullopt);
        EXPECT_TRUE(type->can_search_by("identifier"));
        EXPECT_FALSE(base.operations.empty());
        EXPECT_EQ(base.operations.front(), "validate");
    }
}

// All CapabilityStatement-*.json of each package: release, number of types and the first of them.
TEST(CapabilityStatementTest, ReadsEveryPublishedStatement) {
    struct Expected {
        std::string name;
        std::size_t types;
        std::string first;
    };
    const std::vector<Expected> in_all{{"CapabilityStatement-knowledge-repository", 5, "Library"},
                                       {"CapabilityStatement-measure-processor", 1, "Measure"},
                                       {"CapabilityStatement-phr", 4, "Patient"},
                                       {"CapabilityStatement-messagedefinition", 0, ""},
                                       {"CapabilityStatement-example", 1, "Patient"}};
    for (const Release release : spec::releases) {
        std::vector<Expected> all = in_all;
        all.push_back({"CapabilityStatement-base2", release == Release::r4 ? 1U : 0U,
                       release == Release::r4 ? "CapabilityStatement" : ""});
        if (release == Release::r5) {
            all.push_back({"CapabilityStatement-example-terminology-server", 3, "CodeSystem"});
        } else {
            all.push_back({"CapabilityStatement-terminology-server", 2, "ValueSet"});
        }
        for (const Expected& one : all) {
            const CapabilityStatement read = statement(published(release, one.name));
            EXPECT_EQ(read.release, release) << one.name;
            EXPECT_TRUE(read.speaks_json()) << one.name;
            ASSERT_EQ(read.types.size(), one.types) << one.name;
            if (!read.types.empty()) {
                EXPECT_EQ(read.types.front().name, one.first) << one.name;
                EXPECT_TRUE(read.types.front().can("read")) << one.name;
            }
        }
    }
}

// CapabilityStatement-phr: a service with words but no code. -terminology-server: a certificate.
TEST(CapabilityStatementTest, SaysHowToSignIn) {
    for (const Release release : spec::releases) {
        EXPECT_THAT(statement(published(release, "CapabilityStatement-phr")).security_services,
                    ElementsAre("OAuth"));
        EXPECT_THAT(
            statement(published(release, "CapabilityStatement-knowledge-repository")).security_services,
            ElementsAre("Certificates"));
    }
}

// CapabilityStatement-messagedefinition: no rest at all.
TEST(CapabilityStatementTest, AServerWithoutRestCanDoNothing) {
    for (const Release release : spec::releases) {
        const CapabilityStatement messages =
            statement(published(release, "CapabilityStatement-messagedefinition"));
        EXPECT_TRUE(messages.types.empty());
        EXPECT_TRUE(messages.interactions.empty());
    }
}

TEST(CapabilityStatementTest, WhatAClientWantsIsNotWhatTheServerDoes) {
    const CapabilityStatement read = written(
        R"({"resourceType":"CapabilityStatement","rest":[{"mode":"client","interaction":[{"code":"batch"}]},)"
        R"({"mode":"server","resource":[{"type":"Patient"}]}]})");
    EXPECT_FALSE(read.can("batch"));
    EXPECT_NE(read.type("Patient"), nullptr);
}

TEST(CapabilityStatementTest, AVersionNobodyHereKnowsHasNoRelease) {
    const CapabilityStatement read =
        written(R"({"resourceType":"CapabilityStatement","fhirVersion":"3.0.2"})");
    EXPECT_EQ(read.fhir_version, "3.0.2");
    EXPECT_EQ(read.release, std::nullopt);
}

TEST(CapabilityStatementTest, FormatsThatAreAllXmlSpeakNoJson) {
    EXPECT_FALSE(
        written(R"({"resourceType":"CapabilityStatement","format":["application/fhir+xml"]})").speaks_json());
    EXPECT_TRUE(written(R"({"resourceType":"CapabilityStatement"})").speaks_json());
}

TEST(CapabilityStatementTest, MisshapenPartsReadAsAbsent) {
    const CapabilityStatement read = written(
        R"({"resourceType":"CapabilityStatement","fhirVersion":4,"software":"x","format":"json","rest":{)"
        R"("interaction":{"code":"batch"},"security":[],"resource":["Patient",{"type":"Device",)"
        R"("updateCreate":"true","interaction":[{"code":7},"read"],"searchParam":null}]}})");
    EXPECT_EQ(read.software_name, "");
    EXPECT_THAT(read.formats, ElementsAre("json"));
    EXPECT_TRUE(read.can("batch"));
    ASSERT_NE(read.type("Device"), nullptr);
    EXPECT_EQ(read.type("Device")->update_create, std::nullopt);
    EXPECT_FALSE(read.type("Device")->can("read"));
    EXPECT_FALSE(read_capability_statement(json::read(R"({"resourceType":"Patient"})")->root()));
    EXPECT_FALSE(read_capability_statement(json::read("[]")->root()));
}

}  // namespace
}  // namespace nightferry::fhir::resource
