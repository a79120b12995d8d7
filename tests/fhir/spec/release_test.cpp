#include "fhir/spec/release.hpp"

#include <gtest/gtest.h>

namespace nightferry::fhir::spec {
namespace {

TEST(ReleaseTest, EveryReleaseIsFoundByItsOwnVersion) {
    for (const Release release : releases)
        EXPECT_EQ(release_of_version(version_of(release)), release) << name_of(release);
}

// Version forms of the FHIR-version code list of R5 (https://hl7.org/fhir/R5/valueset-FHIR-version.html).
TEST(ReleaseTest, ShortAndPreviewVersionsBelongToTheirRelease) {
    EXPECT_EQ(release_of_version("4.0"), Release::r4);
    EXPECT_EQ(release_of_version("4.0.0"), Release::r4);
    EXPECT_EQ(release_of_version("4.1.0"), Release::r4b);
    EXPECT_EQ(release_of_version("4.3"), Release::r4b);
    EXPECT_EQ(release_of_version("4.3.0-cibuild"), Release::r4b);
    EXPECT_EQ(release_of_version("5.0.0-ballot"), Release::r5);
}

TEST(ReleaseTest, OtherVersionsBelongToNone) {
    for (const char* version : {"", "4", "3.0.2", "4.2.0", "4.6.0", "4.01", "5.1.0", "R4", "40.0.1"})
        EXPECT_EQ(release_of_version(version), std::nullopt) << version;
}

}  // namespace
}  // namespace nightferry::fhir::spec
