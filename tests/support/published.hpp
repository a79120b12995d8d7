// The published examples of each release: npm hl7.fhir.r4.examples 4.0.1, hl7.fhir.r4b.examples 4.3.0 and
// hl7.fhir.r5.examples 5.0.0.
#pragma once

#include <gtest/gtest.h>

#include <string>

#include "fhir/json/reader.hpp"
#include "fhir/spec/release.hpp"
#include "tests/support/files.hpp"

namespace nightferry::test {

inline std::string published_text(fhir::spec::Release release, const std::string& name) {
    const char* package = release == fhir::spec::Release::r4    ? "hl7.fhir.r4.examples/"
                          : release == fhir::spec::Release::r4b ? "hl7.fhir.r4b.examples/"
                                                                : "hl7.fhir.r5.examples/";
    return source_file("tests/peers/node_modules/" + (package + name) + ".json");
}

inline fhir::json::Document published(fhir::spec::Release release, const std::string& name) {
    auto document = fhir::json::read(published_text(release, name));
    EXPECT_TRUE(document) << name;
    return document ? std::move(*document) : fhir::json::Document();
}

}  // namespace nightferry::test
