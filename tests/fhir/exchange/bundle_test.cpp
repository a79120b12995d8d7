#include "fhir/exchange/bundle.hpp"

#include <gtest/gtest.h>

#include "tests/support/published_examples.hpp"

namespace nightferry::fhir::exchange {
namespace {

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

TEST(TransactionTest, CanBeABatch) {
    EXPECT_EQ(Transaction(BundleKind::batch).text(),
              R"({"resourceType":"Bundle","type":"batch","entry":[]})");
}

TEST(TransactionTest, KnowsWhatItAskedFor) {
    Transaction transaction;
    transaction.create("Observation", "urn:uuid:a", "");
    transaction.update("Provenance", "p1", "", "");
    const std::vector<Asked> asked = transaction.asked();
    ASSERT_EQ(asked.size(), 2U);
    EXPECT_EQ(asked[0].method, "POST");
    EXPECT_EQ(asked[0].type, "Observation");
    EXPECT_EQ(asked[0].id, "");
    EXPECT_EQ(asked[1].type, "Provenance");
    EXPECT_EQ(asked[1].id, "p1");
}

// Bundle-bundle-transaction.json of each package: every kind of request there is.
TEST(AskedTest, ReadsThePublishedTransactionOfEachRelease) {
    for (const spec::Release release : spec::releases) {
        std::vector<std::string> read;
        for (const Asked& one : asked_in(test::published(release, "Bundle-bundle-transaction").root()))
            read.push_back(one.method + " " + one.type + " " + one.id);
        EXPECT_THAT(read, testing::ElementsAre("POST Patient ", "POST Patient ", "PUT Patient 123",
                                               "PUT Patient ", "PUT Patient 123a", "DELETE Patient 234",
                                               "DELETE Patient ", "POST  ", "GET  ", "GET Patient 12334"));
    }
}

TEST(AskedTest, EntriesWithoutARequestAskForNothing) {
    const auto bundle = json::read(R"({"entry":[{},{"request":{"method":"PUT"}},{"request":7}]})");
    const std::vector<Asked> asked = asked_in(bundle->root());
    ASSERT_EQ(asked.size(), 3U);
    for (const Asked& one : asked)
        EXPECT_EQ(one.type, "");
}

}  // namespace
}  // namespace nightferry::fhir::exchange
