// Addresses, beside the examples of RFC 3986.
#include "daemon/core/web_address.hpp"

namespace nightferry {

namespace {

std::string parsed(std::string_view text) {
    const auto address = WebAddress::parse(text);
    if (!address) return "none";
    return address->to_string() + (address->has_credentials ? " with credentials" : "") +
           (address->has_fragment ? " with a fragment" : "");
}

TEST(WebAddressTest, AddressesComeBackInOneForm) {
    EXPECT_EQ(parsed("https://clinic.example/fhir"), "https://clinic.example/fhir");
    EXPECT_EQ(parsed("https://CLINIC.example:443/Fhir/"), "https://clinic.example/Fhir/");
    EXPECT_EQ(parsed("https://clinic.example"), "https://clinic.example");
    EXPECT_EQ(parsed("https://clinic.example:8443/a%20b?x=1&y=%2F"),
              "https://clinic.example:8443/a%20b?x=1&y=%2F");
    EXPECT_EQ(parsed("http://[::1]:8080/fhir"), "http://[::1]:8080/fhir");
    EXPECT_EQ(parsed("http://127.0.0.1:80"), "http://127.0.0.1");
    EXPECT_EQ(parsed("https://u:p@clinic.example/#top"),
              "https://clinic.example/ with credentials with a fragment");
}

TEST(WebAddressTest, WhatIsNoneIsNone) {
    for (const char* text : {"", "clinic.example/fhir", "ftp://clinic.example", "https:clinic.example",
                             "https:///fhir", "https://clinic.example:0/", "https://clinic.example:65536/",
                             "https://clinic.example:x/", "https://clinic example/", "urn:uuid:1", "/fhir"})
        EXPECT_EQ(parsed(text), "none") << text;
}

// RFC 3986 section 5.4.1, those of the normal examples that stay in http. Its base has a path and a query.
TEST(WebAddressTest, RfcExamplesOfReferences) {
    const std::vector<std::pair<const char*, const char*>> rows{
        {"g", "http://a/b/c/g"},     {"./g", "http://a/b/c/g"},
        {"g/", "http://a/b/c/g/"},   {"/g", "http://a/g"},
        {"//g", "http://g"},         {"?y", "http://a/b/c/d;p?y"},
        {"g?y", "http://a/b/c/g?y"}, {"", "http://a/b/c/d;p?q"},
        {".", "http://a/b/c/"},      {"..", "http://a/b/"},
        {"../g", "http://a/b/g"},    {"../..", "http://a/"},
        {"../../g", "http://a/g"},   {"g;x=1/./y", "http://a/b/c/g;x=1/y"}};
    for (const auto& [reference, target] : rows) {
        const auto resolved = WebAddress::resolve("http://a/b/c/d;p?q", reference);
        ASSERT_TRUE(resolved) << reference;
        EXPECT_EQ(resolved->to_string(), target) << reference;
    }
    EXPECT_FALSE(WebAddress::resolve("http://a/b/c/d;p?q", "g:h"));
}

TEST(WebAddressTest, WhatARequestSays) {
    const auto address = WebAddress::parse("https://clinic.example:8443?x=1");
    EXPECT_EQ(address->authority(), "clinic.example:8443");
    EXPECT_EQ(address->target(), "/?x=1");
}

TEST(WebAddressTest, OriginIsSchemeHostAndPort) {
    const auto same = [](const char* one, const char* other) {
        return WebAddress::parse(one)->is_same_origin(*WebAddress::parse(other));
    };
    EXPECT_TRUE(same("https://a.example/x", "https://A.example:443/y?z"));
    EXPECT_FALSE(same("https://a.example", "http://a.example"));
    EXPECT_FALSE(same("https://a.example", "https://a.example:8443"));
    EXPECT_FALSE(same("https://a.example", "https://b.a.example"));
}

}  // namespace

}  // namespace nightferry
