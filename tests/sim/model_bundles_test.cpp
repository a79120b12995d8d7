#include <gtest/gtest.h>

#include "tests/sim/model_requests.hpp"

namespace nightferry::sim {
namespace {

using fhir::exchange::BundleKind;
using fhir::exchange::Transaction;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::Not;

Dialect with(std::function<void(Does&)> change) {
    Dialect dialect = thorough();
    change(dialect.does);
    return dialect;
}

std::string reference_in(const ModelClinic& clinic, std::string_view type, std::string_view id) {
    const StoredResource* resource = clinic.store().find(type, id);
    if (resource == nullptr) return "no such resource";
    const auto at = resource->text().find(R"("reference":")") + 13;
    return resource->text().substr(at, resource->text().find('"', at) - at);
}

void refuse_finding(ModelClinic& clinic) {
    clinic.refuse([](const fhir::json::Value& resource) { return refuses_words(resource, "finding-a"); });
}

TEST(ModelBundlesTest, ATransactionIsUnderstoodByOurReader) {
    ModelClinic clinic(thorough());
    const Transaction bundle = dose_bundle("a");
    const HttpAnswer answer = clinic.answer(send(bundle));
    EXPECT_EQ(answer.status, 200);
    EXPECT_THAT(statuses(answer), ElementsAre(201, 201, 201));
    EXPECT_TRUE(fits(bundle, BundleKind::transaction, answer));
    const auto read = fhir::exchange::read_bundle_answer(answer.body);
    EXPECT_EQ(read->entries[0].location->reference(), "MedicationAdministration/n1");
    EXPECT_EQ(read->entries[0].location->version, "1");
    EXPECT_EQ(read->entries[1].location->reference(), "Provenance/p-a");
    EXPECT_EQ(clinic.store().count(dose_type), 1U);
}

TEST(ModelBundlesTest, TheSameTransactionTwiceIsOnceInEffect) {
    ModelClinic clinic(thorough());
    clinic.answer(send(dose_bundle("a")));
    EXPECT_THAT(statuses(clinic.answer(send(dose_bundle("a")))), ElementsAre(200, 200, 200));
    EXPECT_EQ(clinic.store().bearing(dose_type, ours, "a").size(), 1U);
    EXPECT_EQ(clinic.store().find("Provenance", "p-a")->newest().version, "2");
}

TEST(ModelBundlesTest, ReferencesWithinATransactionAreResolved) {
    ModelClinic clinic(thorough());
    clinic.answer(send(dose_bundle("a")));
    EXPECT_EQ(reference_in(clinic, "Provenance", "p-a"), "MedicationAdministration/n1");
    EXPECT_EQ(reference_in(clinic, "Observation", "n2"), "MedicationAdministration/n1");
    ModelClinic simple(no_references());
    simple.answer(send(dose_bundle("a")));
    EXPECT_EQ(reference_in(simple, "Provenance", "p-a"), "urn:uuid:dose-a");
}

TEST(ModelBundlesTest, ReferencesToLaterEntriesAreResolved) {
    ModelClinic clinic(thorough());
    Transaction bundle;
    fhir::json::Value& first = bundle.create("Observation", "urn:uuid:first", {});
    fill(first, "Observation", "first");
    first.add_object("subject").add_string("reference", "urn:uuid:second");
    fill(bundle.create("Device", "urn:uuid:second", {}), "Device", "second");
    clinic.answer(send(bundle));
    EXPECT_EQ(reference_in(clinic, "Observation", "n1"), "Device/n2");
}

TEST(ModelBundlesTest, AFailedTransactionLeavesNothing) {
    ModelClinic clinic(thorough());
    refuse_finding(clinic);
    const HttpAnswer answer = clinic.answer(send(dose_bundle("a")));
    EXPECT_EQ(answer.status, 422);
    EXPECT_THAT(answer.body, HasSubstr("clinic-rule-1"));
    EXPECT_THAT(answer.body, HasSubstr("Bundle.entry[2]"));
    EXPECT_TRUE(clinic.store().resources().empty());
    EXPECT_TRUE(clinic.events_since(0).empty());
    EXPECT_EQ(clinic.store().count(dose_type), 0U);
    EXPECT_EQ(found(clinic.answer(lookup(dose_type, "a"))), 0);
}

TEST(ModelBundlesTest, AFailedTransactionGivesUpdatedResourcesTheirOldVersionBack) {
    ModelClinic clinic(thorough());
    clinic.answer(put("Observation", "o1", "old"));
    Transaction bundle;
    fhir::json::Value& changed = bundle.update("Observation", "o1", {}, "1");
    changed.add_string("id", "o1");
    fill(changed, "Observation", "new");
    fill(bundle.update("Observation", "o2", {}, "9"), "Observation", "never");
    EXPECT_EQ(clinic.answer(send(bundle)).status, 400);
    EXPECT_EQ(clinic.store().find("Observation", "o1")->history.size(), 1U);
    EXPECT_EQ(found(clinic.answer(lookup("Observation", "old"))), 1);
    EXPECT_EQ(found(clinic.answer(lookup("Observation", "new"))), 0);
}

TEST(ModelBundlesTest, NothingIsFoundOfWhatAFailedTransactionWroteTwice) {
    ModelClinic clinic(thorough());
    Transaction bundle;
    for (const char* identifier : {"first", "second", "first"}) {
        fhir::json::Value& resource = bundle.update("Observation", "o1", {}, {});
        resource.add_string("id", "o1");
        fill(resource, "Observation", identifier);
    }
    bundle.create("Observation", {}, {}).add_string("resourceType", "Patient");
    EXPECT_EQ(clinic.answer(send(bundle)).status, 400);
    EXPECT_EQ(found(clinic.answer(lookup("Observation", "first"))), 0);
    EXPECT_EQ(found(clinic.answer(lookup("Observation", "second"))), 0);
    EXPECT_EQ(found(clinic.answer(look_at("Observation"))), 0);
}

TEST(ModelBundlesTest, IdsOfAFailedTransactionComeAgainOnlyWhereIdsAreReused) {
    for (const bool reuses : {false, true}) {
        ModelClinic clinic(with([&](Does& does) { does.reuses_ids = reuses; }));
        refuse_finding(clinic);
        clinic.answer(send(dose_bundle("a")));
        clinic.answer(send(dose_bundle("b")));
        EXPECT_EQ(clinic.store().bearing(dose_type, ours, "b").front()->id, reuses ? "n1" : "n2");
    }
}

TEST(ModelBundlesTest, WithoutAtomicityTheEntriesBeforeTheFailingOneStay) {
    ModelClinic clinic(not_atomic());
    refuse_finding(clinic);
    EXPECT_EQ(clinic.answer(send(dose_bundle("a"))).status, 422);
    EXPECT_EQ(clinic.store().count(dose_type), 1U);
    EXPECT_EQ(reference_in(clinic, "Provenance", "p-a"), "MedicationAdministration/n1");
}

TEST(ModelBundlesTest, AMixedTransactionCarriesOn) {
    ModelClinic clinic(mixed_transactions());
    clinic.refuse([](const fhir::json::Value& resource) { return refuses_words(resource, "a"); });
    const Transaction bundle = dose_bundle("a");
    const HttpAnswer answer = clinic.answer(send(bundle));
    EXPECT_EQ(answer.status, 200);
    EXPECT_TRUE(fits(bundle, BundleKind::transaction, answer));
    EXPECT_THAT(statuses(answer), ElementsAre(422, 201, 201));
    EXPECT_EQ(reference_in(clinic, "Provenance", "p-a"), "urn:uuid:dose-a");
}

TEST(ModelBundlesTest, ABatchIsEachOnItsOwn) {
    ModelClinic clinic(batch_only());
    refuse_finding(clinic);
    const Transaction bundle = dose_bundle("a", BundleKind::batch);
    const HttpAnswer answer = clinic.answer(send(bundle));
    EXPECT_TRUE(fits(bundle, BundleKind::batch, answer));
    EXPECT_THAT(statuses(answer), ElementsAre(201, 201, 422));
    EXPECT_THAT(fhir::exchange::read_bundle_answer(answer.body)->entries[2].words,
                HasSubstr("clinic-rule-1"));
    EXPECT_EQ(reference_in(clinic, "Provenance", "p-a"), "urn:uuid:dose-a");
    ModelClinic helpful(with([](Does& does) { does.resolves_in_batches = true; }));
    helpful.answer(send(bundle));
    EXPECT_EQ(reference_in(helpful, "Provenance", "p-a"), "MedicationAdministration/n1");
}

TEST(ModelBundlesTest, ABatchCanSearchAndRead) {
    ModelClinic clinic(thorough());
    clinic.answer(create(dose_type, "a"));
    const HttpAnswer answer =
        clinic.answer({"POST",
                       "",
                       {},
                       R"({"resourceType":"Bundle","type":"batch","entry":[{"request":{"method":"GET","url":)"
                       R"("MedicationAdministration?)" +
                           condition("a") +
                           R"("}},{"request":{"method":"GET","url":"MedicationAdministration/n1"}},)"
                           R"({"request":{"method":"GET","url":"MedicationAdministration/n9"}}]})"});
    EXPECT_THAT(statuses(answer), ElementsAre(200, 200, 404));
    EXPECT_THAT(answer.body, HasSubstr(R"("total":1)"));
}

TEST(ModelBundlesTest, KindsThatAreNotDoneAreRefused) {
    const auto status_of = [](Dialect dialect, BundleKind kind) {
        ModelClinic clinic(std::move(dialect));
        const HttpAnswer answer = clinic.answer(send(dose_bundle("a", kind)));
        EXPECT_TRUE(answer.status == 200 || clinic.store().resources().empty());
        return answer.status;
    };
    EXPECT_EQ(status_of(no_transactions(), BundleKind::transaction), 400);
    EXPECT_EQ(status_of(no_transactions(), BundleKind::batch), 200);
    EXPECT_EQ(status_of(liar_about_transactions(), BundleKind::transaction), 404);
    EXPECT_EQ(status_of(single_only(), BundleKind::batch), 404);
    EXPECT_EQ(status_of(with([](Does& does) { does.batches = false; }), BundleKind::transaction), 200);
}

TEST(ModelBundlesTest, TooLargeBundlesAreRefused) {
    ModelClinic clinic(small_bundles(2));
    EXPECT_EQ(clinic.answer(send(dose_bundle("a"))).status, 413);
    ModelClinic other(with([](Does& does) {
        does.max_bytes = 300;
        does.too_large_status = 400;
    }));
    EXPECT_EQ(other.answer(send(dose_bundle("a"))).status, 400);
    EXPECT_EQ(other.answer(create(dose_type, "a")).status, 201);
    ModelClinic enough(small_bundles(3));
    EXPECT_EQ(enough.answer(send(dose_bundle("a"))).status, 200);
}

TEST(ModelBundlesTest, AnUnkeptTypeFailsTheWholeTransaction) {
    ModelClinic clinic(no_update_create_no_provenance());
    EXPECT_EQ(clinic.answer(send(dose_bundle("a"))).status, 422);
    EXPECT_EQ(clinic.store().count(dose_type), 0U);
    ModelClinic strict(no_update_create());
    EXPECT_EQ(strict.answer(send(dose_bundle("a"))).status, 405);
    ModelClinic uniform(with([](Does& does) {
        does.keeps_provenance = false;
        does.transaction_failure_status = 400;
        does.names_failing_entry = false;
    }));
    const HttpAnswer answer = uniform.answer(send(dose_bundle("a")));
    EXPECT_EQ(answer.status, 400);
    EXPECT_THAT(answer.body, Not(HasSubstr("Bundle.entry")));
}

TEST(ModelBundlesTest, PoisonBreaksTheWholeRequest) {
    for (const BundleKind kind : {BundleKind::transaction, BundleKind::batch}) {
        ModelClinic clinic(thorough());
        clinic.break_on([](const fhir::json::Value& one) { return refuses_words(one, "finding-a"); });
        EXPECT_EQ(clinic.answer(send(dose_bundle("a", kind))).status, 500);
        EXPECT_EQ(clinic.store().count(dose_type), kind == BundleKind::batch ? 1U : 0U);
    }
}

TEST(ModelBundlesTest, PoisonMayFailAloneInABatch) {
    ModelClinic clinic(with([](Does& does) { does.batches_survive = true; }));
    clinic.break_on([](const fhir::json::Value& one) { return refuses_words(one, "finding-a"); });
    EXPECT_THAT(statuses(clinic.answer(send(dose_bundle("a", BundleKind::batch)))),
                ElementsAre(201, 201, 500));
    EXPECT_EQ(clinic.store().count(dose_type), 1U);
    EXPECT_EQ(clinic.store().count("Observation"), 0U);
}

TEST(ModelBundlesTest, WhatIsNoBundleIsRefused) {
    ModelClinic clinic(thorough());
    for (const char* body : {"", "{", "[]", "{}", R"({"resourceType":"Bundle","type":"message"})",
                             R"({"resourceType":"Bundle","type":"transaction","entry":[{}]})",
                             R"({"resourceType":"Bundle","type":"transaction","entry":"x"})"}) {
        EXPECT_EQ(clinic.answer({"POST", "", {}, body}).status, 400) << body;
    }
    EXPECT_TRUE(clinic.store().resources().empty());
}

}  // namespace
}  // namespace nightferry::sim
