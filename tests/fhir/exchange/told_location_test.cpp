#include "fhir/exchange/told_location.hpp"

#include <gtest/gtest.h>

#include "fhir/json/reader.hpp"

namespace nightferry::fhir::exchange {
namespace {

// "Observation/1 2": what is told, and its version; "nothing" otherwise.
std::string told(std::string_view location, std::string_view etag, const std::string& resource = "") {
    const auto document = resource.empty() ? std::nullopt : std::optional(json::read(resource));
    const json::Value* value = document && *document ? &(*document)->root() : nullptr;
    const auto place = location_told(location, etag, value);
    return place ? place->reference() + " " + place->version : "nothing";
}

TEST(ToldLocationTest, LocationSaysWhereAndInWhichVersion) {
    EXPECT_EQ(told("Observation/1/_history/2", ""), "Observation/1 2");
    EXPECT_EQ(told("https://clinic.example/fhir/Observation/1", ""), "Observation/1 ");
}

// The three places that https://hl7.org/fhir/R4/http.html#create names a version in.
TEST(ToldLocationTest, VersionIsTakenFromTheFirstPlaceThatHasOne) {
    const std::string resource = R"({"resourceType":"Observation","id":"1","meta":{"versionId":"4"}})";
    EXPECT_EQ(told("Observation/1/_history/2", "W/\"3\"", resource), "Observation/1 2");
    EXPECT_EQ(told("Observation/1", "W/\"3\"", resource), "Observation/1 3");
    EXPECT_EQ(told("Observation/1", "", resource), "Observation/1 4");
    EXPECT_EQ(told("Observation/1", "", R"({"resourceType":"Observation","id":"1"})"), "Observation/1 ");
}

TEST(ToldLocationTest, ReturnedResourceNamesItselfWhereThereIsNoLocation) {
    const std::string resource = R"({"resourceType":"Observation","id":"1","meta":{"versionId":"4"}})";
    EXPECT_EQ(told("", "", resource), "Observation/1 4");
    EXPECT_EQ(told("", "W/\"5\"", resource), "Observation/1 5");
    EXPECT_EQ(told("https://clinic.example/", "", resource), "Observation/1 4") << "the Location names none";
}

TEST(ToldLocationTest, OperationOutcomeIsAboutAnotherResource) {
    EXPECT_EQ(told("", "W/\"5\"", R"({"resourceType":"OperationOutcome","id":"1"})"), "nothing");
    EXPECT_EQ(told("Observation/1", "", R"({"resourceType":"OperationOutcome","id":"o9"})"),
              "Observation/1 ");
}

TEST(ToldLocationTest, WhatNamesNoPlaceTellsNothing) {
    EXPECT_EQ(told("", ""), "nothing");
    EXPECT_EQ(told("", "W/\"3\""), "nothing") << "a version of nobody knows what";
    for (const char* resource :
         {"{}", R"({"resourceType":"Observation"})", R"({"id":"1"})",
          R"({"resourceType":"observation","id":"1"})", R"({"resourceType":"Observation","id":"a/../b"})",
          R"({"resourceType":"Observation","id":1})", "[]", "\"Observation/1\""}) {
        EXPECT_EQ(told("", "", resource), "nothing") << resource;
    }
}

// The version goes into a header of a later request.
TEST(ToldLocationTest, VersionThatCouldNotBeSentBackIsNone) {
    EXPECT_EQ(told("", "", R"({"resourceType":"Observation","id":"1","meta":{"versionId":"a\r\nX: b"}})"),
              "Observation/1 ");
}

}  // namespace
}  // namespace nightferry::fhir::exchange
