#include "fhir/exchange/paging.hpp"

#include <gtest/gtest.h>

namespace nightferry::fhir::exchange {
namespace {

const std::string base = "https://clinic.example/fhir";
const std::string asked = "/Observation?identifier=urn:x%7C7";

std::optional<std::string> target(std::string_view link) {
    return target_within(base, asked, link);
}

TEST(PagingTest, AbsoluteLinksBelowTheBaseAreFollowed) {
    EXPECT_EQ(target("https://clinic.example/fhir/Observation?page=2"), "/Observation?page=2");
    EXPECT_EQ(target("https://clinic.example/fhir?_getpages=7&_getpagesoffset=20"),
              "?_getpages=7&_getpagesoffset=20");
    EXPECT_EQ(target("https://clinic.example/fhir"), "");
    EXPECT_EQ(target_within("https://clinic.example/", asked, "https://clinic.example/Observation?p=2"),
              "/Observation?p=2");
}

// Hosts compare without case and with their usual port (RFC 3986 section 6.2), and FHIR counts http and https
// as one (https://hl7.org/fhir/R4/http.html#general).
TEST(PagingTest, TheSameServerIsKnownByItsOtherNames) {
    for (const char* link :
         {"http://clinic.example/fhir/A?p=2", "HTTPS://Clinic.Example/fhir/A?p=2",
          "https://clinic.example:443/fhir/A?p=2", "http://clinic.example:80/fhir/A?p=2"}) {
        EXPECT_EQ(target(link), "/A?p=2") << link;
    }
    EXPECT_EQ(target_within("https://h:8443/fhir", asked, "https://h:8443/fhir/A"), "/A");
}

// RFC 3986 section 5.4, with what was asked for as the base.
TEST(PagingTest, RelativeLinksStartFromWhatWasAsked) {
    EXPECT_EQ(target("?page=2"), "/Observation?page=2");
    EXPECT_EQ(target("Observation?page=2"), "/Observation?page=2");
    EXPECT_EQ(target("/fhir/Observation?page=2"), "/Observation?page=2");
    EXPECT_EQ(target("Observation?url=http://x"), "/Observation?url=http://x");
    EXPECT_EQ(target("?page=2#top"), "/Observation?page=2");
}

TEST(PagingTest, LinksToElsewhereAreNotFollowed) {
    for (const char* link :
         {"", "#top", "https://evil.example/fhir/Observation", "https://clinic.example.evil.example/fhir/A",
          "https://clinic.example@evil.example/fhir/A", "https://clinic.example:8443/fhir/A",
          "https://clinic.example/fhirs/A", "https://clinic.example/other/A", "//evil.example/fhir/A",
          "/other/A", "ftp://clinic.example/fhir/A", "javascript:alert(1)", "https:evil.example"}) {
        EXPECT_EQ(target(link), std::nullopt) << link;
    }
}

TEST(PagingTest, LinksThatClimbOrBreakARequestLineAreNotFollowed) {
    for (const char* link :
         {"https://clinic.example/fhir/../admin", "/fhir/%2e%2E/admin", "../admin", "./A", "A/..%2fadmin",
          "Observation?a=1\r\nX-Evil: 1", "Observation?a b", "/fhir\\..\\admin"}) {
        EXPECT_EQ(target(link), std::nullopt) << link;
    }
    EXPECT_EQ(target("?a=" + std::string(1'000'000, 'x')), std::nullopt);
}

}  // namespace
}  // namespace nightferry::fhir::exchange
