#include "fhir/exchange/etag.hpp"

#include <gtest/gtest.h>

namespace nightferry::fhir::exchange {
namespace {

// RFC 9110 section 8.8.3 for the first two; the others are seen on servers, W/1 also in
// Bundle-bundle-response-medsallergies.json of npm hl7.fhir.r4.examples 4.0.1.
TEST(EtagTest, IsReadInEveryFormServersSend) {
    for (const char* etag :
         {"W/\"23\"", "\"23\"", "23", "W/23", "w/\"23\"", "  W/\"23\"  ", "W/ \"23\"", "\"23"})
        EXPECT_EQ(version_in_etag(etag), "23") << etag;
}

// FHIR ids may hold dashes and points (https://hl7.org/fhir/R4/datatypes.html#id); a comma is fine inside
// quotes (RFC 9110: etagc).
TEST(EtagTest, KeepsTheWholeOpaquePart) {
    EXPECT_EQ(version_in_etag("W/\"4be9-7f.1\""), "4be9-7f.1");
    EXPECT_EQ(version_in_etag("\"a,b\""), "a,b");
    EXPECT_EQ(version_in_etag("W/\"W/1\""), "W/1");
}

TEST(EtagTest, EmptyOnesNameNoVersion) {
    for (const char* etag : {"", "   ", "\"\"", "W/\"\"", "W/", "*", ",", ", \"1\""})
        EXPECT_EQ(version_in_etag(etag), "") << etag;
}

// If-Match and If-None-Match hold lists (RFC 9110 section 13.1.1); a list names one version only if all
// agree.
TEST(EtagTest, ListsNameAVersionOnlyWhenAllAgree) {
    EXPECT_EQ(version_in_etag("W/\"3\", \"3\""), "3");
    EXPECT_EQ(version_in_etag("W/\"3\", W/\"4\""), "");
    EXPECT_EQ(version_in_etag("3 4"), "");
    EXPECT_EQ(version_in_etag("\"3\"x"), "");
}

// What is read here goes back to the server in a header.
TEST(EtagTest, WhatNoHeaderMayHoldIsNoVersion) {
    EXPECT_EQ(version_in_etag("W/\"1\r\nX-Evil: 1\""), "");
    EXPECT_EQ(version_in_etag("W/\"a b\""), "");
    EXPECT_EQ(version_in_etag(std::string("\"a\0b\"", 5)), "");
    EXPECT_EQ(version_in_etag("\"" + std::string(100'000, '7') + "\""), "");
}

TEST(EtagTest, IsWrittenWeak) {
    // https://hl7.org/fhir/R4/http.html#versioning
    EXPECT_EQ(etag_for("23"), "W/\"23\"");
    EXPECT_EQ(version_in_etag(etag_for("23")), "23");
}

}  // namespace
}  // namespace nightferry::fhir::exchange
