// What the builders write is valid by the published definitions of the release it is written for.
#include <gtest/gtest.h>

#include "fhir/check/validator.hpp"
#include "tests/fhir/resource/samples.hpp"

namespace nightferry::fhir::resource {
namespace {

template <class T>
void expect_valid(const T& sample) {
    for (const spec::Release release : spec::releases) {
        json::Document document;
        put_resource(document.root(), sample, release);
        check::Options errors_only;
        errors_only.warnings = false;
        for (const check::Issue& issue : check::validate(document.root(), release, errors_only).issues)
            ADD_FAILURE() << spec::name_of(release) << ' ' << issue.expression << ": " << issue.text;
    }
}

TEST(ValidityTest, WhatTheBuildersWriteIsValidInEveryRelease) {
    expect_valid(test::administration());
    expect_valid(test::observation());
    expect_valid(test::summary());
    expect_valid(test::provenance());
    expect_valid(test::device());
}

// The samples fill in everything; this is the least.
TEST(ValidityTest, ADoseThatWasNotGivenIsValidInEveryRelease) {
    MedicationAdministration not_given;
    not_given.status = "not-done";
    not_given.status_reason = {{}, "asleep"};
    not_given.medication = {{}, "enoxaparin"};
    not_given.subject = {"Patient/p1", {}, {}, {}};
    not_given.effective = "2026-11-01T20:00:00+01:00";
    expect_valid(not_given);
}

}  // namespace
}  // namespace nightferry::fhir::resource
