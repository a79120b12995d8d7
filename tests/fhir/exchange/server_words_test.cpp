// What is said to people when a server answers with anything at all.
#include <gtest/gtest.h>

#include "fhir/exchange/outcome.hpp"

namespace nightferry::fhir::exchange {
namespace {

TEST(ServerWordsTest, JoinSeveralIssues) {
    EXPECT_EQ(
        server_words(R"({"resourceType":"OperationOutcome","issue":[{"severity":"error","code":"required",)"
                     R"("diagnostics":"one"},{"severity":"error","code":"value"}]})"),
        "one; value");
}

TEST(ServerWordsTest, OfAWebPageAreItsTitle) {
    EXPECT_EQ(server_words("<html>\n  <h1>502\tBad Gateway</h1>"), "502 Bad Gateway");
    EXPECT_EQ(server_words("\xEF\xBB\xBF\r\n<!doctype html><title>Wartung &ndash; bis 6 Uhr</title>"),
              "Wartung – bis 6 Uhr");
    EXPECT_EQ(server_words("<title>Caf\xE9</title>"), "Caf\xEF\xBF\xBD");
}

// https://hl7.org/fhir/R4/xml.html: primitive values are attributes.
TEST(ServerWordsTest, OfAnOutcomeInXmlAreItsTexts) {
    EXPECT_EQ(
        server_words("<?xml version=\"1.0\"?><OperationOutcome xmlns=\"http://hl7.org/fhir\"><text><status "
                     "value=\"generated\"/></text><issue><severity value=\"error\"/><details><text "
                     "value=\"Unknown &quot;type&quot;\"/></details><diagnostics value=\"at 7\"/></issue>"
                     "</OperationOutcome>"),
        "Unknown \"type\"");
    EXPECT_EQ(
        server_words("<OperationOutcome xmlns=\"http://hl7.org/fhir\"><issue><diagnostics value=\"one\"/>"
                     "</issue><issue><diagnostics value=\"two\"/></issue></OperationOutcome>"),
        "one; two");
}

TEST(ServerWordsTest, OfOtherJsonAreItsUsualMembers) {
    // RFC 9457 section 3, RFC 6749 section 5.2; the last from memory, as web frameworks answer.
    EXPECT_EQ(
        server_words(R"({"type":"about:blank","title":"Forbidden","status":403,"detail":"not from here"})"),
        "Forbidden: not from here");
    EXPECT_EQ(server_words(R"({"error":"invalid_client","error_description":"unknown key"})"),
              "invalid_client: unknown key");
    EXPECT_EQ(server_words(R"({"timestamp":1,"status":500,"error":"Internal Server Error","path":"/fhir"})"),
              "Internal Server Error");
    EXPECT_EQ(server_words(R"({"code": 7})"), R"({"code": 7})");
    EXPECT_EQ(server_words("[]"), "[]");
}

TEST(ServerWordsTest, OfPlainTextAreItsStart) {
    EXPECT_EQ(server_words("upstream connect error or disconnect/reset before headers"),
              "upstream connect error or disconnect/reset before headers");
    EXPECT_EQ(server_words("{\"resourceType\":\"OperationOutcome\",\"issue\":[{\"sev"),
              "{\"resourceType\":\"OperationOutcome\",\"issue\":[{\"sev");
}

TEST(ServerWordsTest, AreCutAtACharacterBoundary) {
    EXPECT_EQ(server_words("éééé", 5), "éé…");
}

TEST(ServerWordsTest, OfNothingAreNone) {
    EXPECT_EQ(server_words(""), "");
    EXPECT_EQ(server_words(" \r\n\t"), "");
}

// RFC 1952 section 2.3.1: gzip begins with 1F 8B. Other compressions and UTF-16 show by their control bytes.
TEST(ServerWordsTest, OfBytesThatAreNoTextAreNone) {
    EXPECT_EQ(server_words("\x1F\x8B\x08"), "");
    EXPECT_EQ(server_words(std::string("\x1F\x8B\x08\0\0\0\0\0\0\xFF\xAB\x56", 12)), "");
    EXPECT_EQ(server_words(std::string("<\0h\0t\0m\0l\0>\0", 12)), "");
    EXPECT_EQ(server_words("\x01\x02\x03\x04 abc \x05\x06"), "");
}

TEST(ServerWordsTest, AreBoundedWhateverTheBody) {
    for (const std::string& part :
         {std::string("x"), std::string("<text "), std::string("{\"a\":"), std::string("&"),
          std::string("\xFF"), std::string("["), std::string("<OperationOutcome<text ")}) {
        std::string body;
        while (body.size() < 8'000'000)
            body += part;
        EXPECT_LE(server_words(body).size(), 503U) << part;
    }
}

}  // namespace
}  // namespace nightferry::fhir::exchange
