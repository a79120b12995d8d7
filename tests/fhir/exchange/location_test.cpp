#include "fhir/exchange/location.hpp"

#include <gtest/gtest.h>

namespace nightferry::fhir::exchange {
namespace {

struct Case {
    const char* text;
    const char* reference;
    const char* version;
};

void expect_read(std::initializer_list<Case> cases) {
    for (const Case& one : cases) {
        const auto location = parse_location(one.text);
        ASSERT_TRUE(location) << one.text;
        EXPECT_EQ(location->reference(), one.reference) << one.text;
        EXPECT_EQ(location->version, one.version) << one.text;
    }
}

// The forms that https://hl7.org/fhir/R4/http.html#create allows.
TEST(LocationTest, ReadsRelativeAbsoluteAndVersionedForms) {
    expect_read({{"Observation/347", "Observation/347", ""},
                 {"Observation/347/_history/2", "Observation/347", "2"},
                 {"http://example.org/fhir/Patient/12", "Patient/12", ""},
                 {"https://example.org:8443/fhir/Patient/12/_history/2", "Patient/12", "2"},
                 {"/fhir/Patient/12/_history/2", "Patient/12", "2"},
                 {"/Patient/12", "Patient/12", ""},
                 {"https://example.org/Patient/12", "Patient/12", ""}});
}

// What servers and the gateways before them add; each seen or conceivable, none forbidden by RFC 3986.
TEST(LocationTest, SeesThroughWhatServersAdd) {
    expect_read({{"Observation/5?_format=json", "Observation/5", ""},
                 {"Observation/5/_history/7?_pretty=true#top", "Observation/5", "7"},
                 {"Observation/5/", "Observation/5", ""},
                 {"Observation/5/_history/", "Observation/5", ""},
                 {"Observation/5/_history", "Observation/5", ""},
                 {"  Observation/5  ", "Observation/5", ""},
                 {"4_0_1/Observation/5", "Observation/5", ""},
                 {"https://h/fhir/4_0_1/Observation/5/_history/1", "Observation/5", "1"},
                 {"https://h/base//Observation/5", "Observation/5", ""},
                 {"Observation/a%2Db%2ec", "Observation/a-b.c", ""},
                 {"Observation/5/%5Fhistory/3", "Observation/5", "3"},
                 {"Observation/un_der", "Observation/un_der", ""}});
}

TEST(LocationTest, RefusesWhatNamesNoResource) {
    for (const char* text : {"", "/", "Observation", "Observation/", "observation/1", "https://example.org/",
                             "https://Example/Patient", "Patient?identifier=1", "Observation/../Patient",
                             "Observation/..", "Observation/.", "urn:uuid:a-b", "Observation/1/_history/2/3",
                             "4_0_1/5", "Observation/$lookup", "http://", "_history/2"}) {
        EXPECT_FALSE(parse_location(text)) << text;
    }
}

// Id and version go into addresses and headers of later requests.
TEST(LocationTest, RefusesWhatCouldNotBeSentBack) {
    EXPECT_FALSE(parse_location("Observation/1%2F..%2FPatient"));
    EXPECT_FALSE(parse_location("Observation/1%0D%0AX"));
    EXPECT_FALSE(parse_location("Observation/" + std::string(65, 'a')));
    std::string deep(1'000'000, '/');
    deep += "Observation/1";
    EXPECT_FALSE(parse_location(deep));
    EXPECT_EQ(parse_location("Observation/1/_history/2%22%0D%0AX")->version, "");
}

}  // namespace
}  // namespace nightferry::fhir::exchange
