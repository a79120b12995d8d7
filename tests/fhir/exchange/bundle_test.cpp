#include "fhir/exchange/bundle.hpp"

#include <gtest/gtest.h>

#include "fhir/json/reader.hpp"
#include "tests/support/files.hpp"

namespace nightferry::fhir::exchange {
namespace {

TEST(LocationTest, ReadsRelativeAbsoluteAndVersionedForms) {
    // The forms that https://hl7.org/fhir/R4/http.html#create allows.
    const auto relative = parse_location("Observation/347");
    ASSERT_TRUE(relative);
    EXPECT_EQ(relative->reference(), "Observation/347");
    EXPECT_EQ(relative->version, "");
    const auto versioned = parse_location("http://example.org/fhir/Patient/12/_history/2");
    ASSERT_TRUE(versioned);
    EXPECT_EQ(versioned->reference(), "Patient/12");
    EXPECT_EQ(versioned->version, "2");
}

TEST(LocationTest, RefusesWhatNamesNoResource) {
    for (const char* text : {"", "Observation", "Observation/", "observation/1", "https://example.org/",
                             "Observation/undefined?x", "Observation/../Patient"}) {
        EXPECT_FALSE(parse_location(text)) << text;
    }
}

TEST(EtagTest, IsReadInEveryFormServersSend) {
    // RFC 9110 section 8.8.3 for the first two; the last is seen on servers.
    EXPECT_EQ(version_in_etag("W/\"23\""), "23");
    EXPECT_EQ(version_in_etag("\"23\""), "23");
    EXPECT_EQ(version_in_etag("23"), "23");
    EXPECT_EQ(version_in_etag("W/1"), "1");
    EXPECT_EQ(etag_for("23"), "W/\"23\"");
}

TEST(TransactionTest, WritesCreatesWithTheirConditionAndUpdatesWithTheirVersion) {
    Transaction transaction;
    transaction.create("Observation", "urn:uuid:a", "identifier=s%7Cv")
        .add_string("resourceType", "Observation");
    transaction.update("Patient", "p1", "", "7").add_string("resourceType", "Patient");
    EXPECT_EQ(transaction.size(), 2U);
    EXPECT_EQ(
        transaction.text(),
        R"({"resourceType":"Bundle","type":"transaction","entry":[)"
        R"({"fullUrl":"urn:uuid:a","resource":{"resourceType":"Observation"},)"
        R"("request":{"method":"POST","url":"Observation","ifNoneExist":"identifier=s%7Cv"}},)"
        R"({"resource":{"resourceType":"Patient"},"request":{"method":"PUT","url":"Patient/p1","ifMatch":"W/\"7\""}}]})");
}

std::vector<EntryAnswer> published(const std::string& name) {
    const auto answers =
        read_transaction_answer(test::source_file("tests/peers/node_modules/hl7.fhir.r4.examples/" + name));
    EXPECT_TRUE(answers);
    return answers.value_or(std::vector<EntryAnswer>());
}

// hl7.fhir.r4.examples 4.0.1, Bundle-bundle-response.json: statuses with words, and one that is no code.
TEST(TransactionAnswerTest, ReadsThePublishedTransactionResponse) {
    const auto answers = published("Bundle-bundle-response.json");
    ASSERT_EQ(answers.size(), 10U);
    EXPECT_EQ(answers[0].status, 201);
    ASSERT_TRUE(answers[0].location);
    EXPECT_EQ(answers[0].location->reference(), "Patient/12423");
    EXPECT_EQ(answers[0].location->version, "1");
    EXPECT_EQ(answers[1].status, 200);
    for (const EntryAnswer& answer : answers)
        EXPECT_TRUE(answer.status == 0 || answer.status >= 200);
}

// The shape of a server that gives no etag but returns the resource with its version.
TEST(TransactionAnswerTest, TakesTheVersionFromTheReturnedResource) {
    const auto answers = read_transaction_answer(
        R"({"resourceType":"Bundle","type":"transaction-response","entry":[{"response":{"status":"201","location":"Observation/x"},)"
        R"("resource":{"resourceType":"Observation","id":"x","meta":{"versionId":"4be9"}}}]})");
    ASSERT_TRUE(answers);
    ASSERT_EQ(answers->size(), 1U);
    EXPECT_EQ((*answers)[0].location->version, "4be9");
}

TEST(TransactionAnswerTest, RefusesWhatIsNoResponseBundle) {
    EXPECT_FALSE(read_transaction_answer("<html>gateway</html>"));
    EXPECT_FALSE(read_transaction_answer(R"({"resourceType":"OperationOutcome"})"));
    EXPECT_FALSE(read_transaction_answer(R"({"resourceType":"Bundle","type":"searchset"})"));
    EXPECT_FALSE(read_transaction_answer(""));
}

TEST(TransactionAnswerTest, GivesNoStatusWhereNoneCanBeRead) {
    const auto answers = read_transaction_answer(
        R"({"resourceType":"Bundle","type":"batch-response","entry":[{"response":{"status":"DELETE"}},{}]})");
    ASSERT_TRUE(answers);
    EXPECT_EQ((*answers)[0].status, 0);
    EXPECT_EQ((*answers)[1].status, 0);
}

}  // namespace
}  // namespace nightferry::fhir::exchange
