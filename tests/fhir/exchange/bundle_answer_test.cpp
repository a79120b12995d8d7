#include "fhir/exchange/bundle_answer.hpp"

#include <gtest/gtest.h>

#include "tests/support/published_examples.hpp"

namespace nightferry::fhir::exchange {
namespace {

using spec::Release;
using testing::ElementsAre;

BundleAnswer published(Release release, const std::string& name) {
    auto answer = read_bundle_answer(test::published_text(release, name));
    EXPECT_TRUE(answer) << name;
    return answer.value_or(BundleAnswer());
}

std::vector<Asked> asked(Release release, const std::string& name) {
    return asked_in(test::published(release, name).root());
}

// An answer to a transaction with these entries.
BundleAnswer written(const std::string& entries) {
    auto answer = read_bundle_answer(R"({"resourceType":"Bundle","type":"transaction-response","entry":[)" +
                                     entries + "]}");
    EXPECT_TRUE(answer) << entries;
    return answer.value_or(BundleAnswer());
}

std::vector<int> statuses(const BundleAnswer& answer) {
    std::vector<int> all;
    for (const EntryAnswer& entry : answer.entries)
        all.push_back(entry.status);
    return all;
}

// Bundle-bundle-response.json of each package: "200 ok", "304 Not Modified", and "DELETE", which is no
// status.
TEST(BundleAnswerTest, ReadsThePublishedTransactionResponseOfEachRelease) {
    for (const Release release : spec::releases) {
        const BundleAnswer answer = published(release, "Bundle-bundle-response");
        EXPECT_EQ(answer.kind, BundleKind::transaction);
        EXPECT_THAT(statuses(answer), ElementsAre(201, 200, 200, 201, 200, 202, 0, 200, 200, 304));
        const EntryAnswer& first = answer.entries[0];
        ASSERT_TRUE(first.location);
        EXPECT_EQ(first.location->reference(), "Patient/12423");
        EXPECT_EQ(first.location->version, "1");
        ASSERT_EQ(first.issues.size(), 1U);
        EXPECT_EQ(first.issues[0].severity, "warning");
        EXPECT_EQ(first.issues[0].code, "not-found");
        EXPECT_EQ(first.words,
                  "The Managing organization was not known and was deleted (Patient.managingOrganization)");
        EXPECT_FALSE(answer.entries[1].location);
        EXPECT_EQ(answer.entries[4].location->reference(), "Patient/123a");
        EXPECT_EQ(answer.entries[4].location->version, "3");
    }
}

// Bundle-bundle-response-medsallergies.json of each package: a bare "200", etag W/1, resources but no
// locations.
TEST(BundleAnswerTest, ReadsThePublishedBatchResponseOfEachRelease) {
    for (const Release release : spec::releases) {
        const BundleAnswer answer = published(release, "Bundle-bundle-response-medsallergies");
        EXPECT_EQ(answer.kind, BundleKind::batch);
        EXPECT_THAT(statuses(answer), ElementsAre(200, 200, 200, 200, 200));
        EXPECT_EQ(answer.entries[0].location->reference(), "Patient/example");
        EXPECT_EQ(answer.entries[0].location->version, "1");
    }
}

TEST(BundleAnswerTest, PublishedAnswersFitThePublishedRequests) {
    for (const Release release : spec::releases) {
        const auto of_transaction =
            find_mismatch(BundleKind::transaction, asked(release, "Bundle-bundle-transaction"),
                          published(release, "Bundle-bundle-response"));
        EXPECT_FALSE(of_transaction) << of_transaction->words;
        const auto of_batch =
            find_mismatch(BundleKind::batch, asked(release, "Bundle-bundle-request-medsallergies"),
                          published(release, "Bundle-bundle-response-medsallergies"));
        EXPECT_FALSE(of_batch) << of_batch->words;
    }
}

TEST(BundleAnswerTest, RefusesWhatIsNoResponseBundle) {
    EXPECT_FALSE(read_bundle_answer("<html>gateway</html>"));
    EXPECT_FALSE(read_bundle_answer(R"({"resourceType":"OperationOutcome"})"));
    EXPECT_FALSE(read_bundle_answer(R"({"resourceType":"Bundle","type":"searchset"})"));
    EXPECT_FALSE(read_bundle_answer(""));
}

// https://hl7.org/fhir/R4/bundle-definitions.html#Bundle.entry.response.status: begins with the HTTP code.
TEST(BundleAnswerTest, ReadsAStatusOnlyWhereOneStands) {
    EXPECT_EQ(status_in("201"), 201);
    EXPECT_EQ(status_in("201 Created"), 201);
    EXPECT_EQ(status_in("200 ok"), 200);
    EXPECT_EQ(status_in(" 404"), 404);
    EXPECT_EQ(status_in("412-precondition"), 412);
    for (const char* text : {"", "20", "2010", "DELETE", "OK 200", "099", "600", "-20", "2 0"})
        EXPECT_EQ(status_in(text), 0) << text;
}

TEST(BundleAnswerTest, MisshapenEntriesHaveNoStatus) {
    EXPECT_THAT(
        statuses(written(R"({"response":{"status":201}},{"response":{"status":null}},{},7,{"response":[]})")),
        ElementsAre(201, 0, 0, 0, 0));
    const auto without =
        read_bundle_answer(R"({"resourceType":"Bundle","type":"batch-response","entry":"none"})");
    ASSERT_TRUE(without);
    EXPECT_THAT(statuses(*without), ElementsAre(0));
}

// Servers that give no etag but return the resource with its version, or no location at all.
TEST(BundleAnswerTest, TakesPlaceAndVersionFromTheReturnedResource) {
    const BundleAnswer answer = written(
        R"({"response":{"status":"201","location":"Observation/x"},)"
        R"("resource":{"resourceType":"Observation","id":"x","meta":{"versionId":"4be9"}}},)"
        R"({"response":{"status":"201"},"resource":{"resourceType":"Observation","id":"y"}},)"
        R"({"response":{"status":"201","etag":"W/\"5\""},"resource":{"resourceType":"Observation","id":"../z"}})");
    EXPECT_EQ(answer.entries[0].location->version, "4be9");
    EXPECT_EQ(answer.entries[1].location->reference(), "Observation/y");
    EXPECT_FALSE(answer.entries[2].location);
}

// Prefer: return=OperationOutcome puts an outcome where the resource would be, and some servers put errors
// there.
TEST(BundleAnswerTest, AnOutcomeInPlaceOfTheResourceIsWordsNotAPlace) {
    const BundleAnswer answer = written(
        R"({"response":{"status":"422 Unprocessable"},"resource":{"resourceType":"OperationOutcome","id":"o",)"
        R"("issue":[{"severity":"error","code":"invariant","diagnostics":"mad-1 failed"}]}})");
    EXPECT_FALSE(answer.entries[0].location);
    EXPECT_EQ(answer.entries[0].words, "mad-1 failed");
    EXPECT_EQ(answer.entries[0].issues.at(0).code, "invariant");
}

const std::vector<Asked> two{{"POST", "Observation", ""}, {"PUT", "Provenance", "p1"}};
const std::string observation = R"({"response":{"status":"201","location":"Observation/9/_history/1"}})";
const std::string provenance = R"({"response":{"status":"200","location":"Provenance/p1"}})";

// https://hl7.org/fhir/R4/http.html#transaction-response: one entry per entry of the request, in its order.
TEST(MismatchTest, AnswersInOrderFit) {
    EXPECT_FALSE(find_mismatch(BundleKind::transaction, two, written(observation + "," + provenance)));
}

TEST(MismatchTest, SwappedEntriesAreOfAnotherType) {
    const auto mismatch =
        find_mismatch(BundleKind::transaction, two, written(provenance + "," + observation));
    ASSERT_TRUE(mismatch);
    EXPECT_EQ(mismatch->what, Mismatch::What::resource_type);
    EXPECT_EQ(mismatch->entry, 0U);
    EXPECT_EQ(mismatch->words, "entry 1 of the answer is about Provenance, not Observation");
}

TEST(MismatchTest, AnUpdateMustComeBackUnderItsOwnId) {
    const auto mismatch =
        find_mismatch(BundleKind::transaction, two,
                      written(observation + R"(,{"response":{"status":"200","location":"Provenance/p2"}})"));
    ASSERT_TRUE(mismatch);
    EXPECT_EQ(mismatch->what, Mismatch::What::resource_id);
    EXPECT_EQ(mismatch->entry, 1U);
    EXPECT_EQ(mismatch->words, "entry 2 of the answer is about Provenance/p2, not Provenance/p1");
}

TEST(MismatchTest, AnotherNumberOfEntriesDoesNotFit) {
    for (const std::string& entries : {std::string(), observation, observation + "," + provenance + ",{}"}) {
        const auto mismatch = find_mismatch(BundleKind::transaction, two, written(entries));
        ASSERT_TRUE(mismatch);
        EXPECT_EQ(mismatch->what, Mismatch::What::count);
    }
    EXPECT_EQ(find_mismatch(BundleKind::transaction, two, written(observation))->words,
              "the answer has 1 entries for 2 that were sent");
}

TEST(MismatchTest, ABatchIsNoTransaction) {
    const auto mismatch = find_mismatch(BundleKind::batch, two, written(observation + "," + provenance));
    ASSERT_TRUE(mismatch);
    EXPECT_EQ(mismatch->what, Mismatch::What::kind);
}

TEST(MismatchTest, WhatAnEntryDoesNotSayCannotContradict) {
    EXPECT_FALSE(find_mismatch(BundleKind::transaction, two,
                               written(R"({"response":{"status":"201"}},{"response":{"status":"DELETE"}})")));
    // A refused entry may point anywhere.
    EXPECT_FALSE(find_mismatch(
        BundleKind::transaction, two,
        written(R"({"response":{"status":"409","location":"Patient/1"}},{"response":{"status":"404"}})")));
}

}  // namespace
}  // namespace nightferry::fhir::exchange
