#include <gtest/gtest.h>

#include "fhir/exchange/same_content.hpp"
#include "tests/sim/model_requests.hpp"

namespace nightferry::sim {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

bool says_the_same(std::string_view sent, const StoredResource& stored) {
    const auto ours_read = fhir::json::read(sent);
    const auto theirs = fhir::json::read(stored.text());
    return fhir::exchange::same_content(ours_read->root(), theirs->root());
}

class ModelPeopleTest : public testing::Test {
 protected:
    ModelPeopleTest() { clinic_.answer(create(dose_type, "a")); }
    const StoredResource& dose() const { return *clinic_.store().find(dose_type, "n1"); }

    ModelClinic clinic_{thorough()};
};

TEST_F(ModelPeopleTest, AnEditIsANewVersionByTheClinicWithTheSameIdentifier) {
    EXPECT_EQ(dose().newest().writer, Writer::us);
    EXPECT_TRUE(clinic_.edit(dose_type, "n1", "checked"));
    EXPECT_EQ(dose().newest().writer, Writer::clinic);
    EXPECT_EQ(dose().newest().version, "2");
    EXPECT_EQ(dose().history.front().writer, Writer::us);
    EXPECT_TRUE(dose().bears(ours, "a"));
    EXPECT_FALSE(says_the_same(resource_text(dose_type, "a"), dose()));
    EXPECT_TRUE(clinic_.edit(dose_type, "n1", "again"));
    EXPECT_THAT(dose().text(), HasSubstr(R"("note":[{"text":"checked"},{"text":"again"}])"));
    EXPECT_EQ(clinic_.answer(put(dose_type, "n1", "a", {{"If-Match", "W/\"1\""}})).status, 412);
    EXPECT_FALSE(clinic_.edit(dose_type, "n7", "nobody"));
}

TEST_F(ModelPeopleTest, ATouchChangesTheVersionOnly) {
    EXPECT_TRUE(clinic_.touch(dose_type, "n1"));
    EXPECT_EQ(dose().newest().version, "2");
    EXPECT_TRUE(says_the_same(resource_text(dose_type, "a"), dose()));
    EXPECT_FALSE(clinic_.touch(dose_type, "n7"));
}

TEST_F(ModelPeopleTest, WhatIsDeletedIsGone) {
    EXPECT_TRUE(clinic_.remove(dose_type, "n1"));
    EXPECT_FALSE(clinic_.remove(dose_type, "n1"));
    EXPECT_FALSE(clinic_.edit(dose_type, "n1", "too late"));
    EXPECT_TRUE(dose().is_deleted());
    EXPECT_EQ(clinic_.store().count(dose_type), 0U);
    EXPECT_EQ(clinic_.answer(look_at("MedicationAdministration/n1")).status, 410);
    EXPECT_EQ(clinic_.answer(look_at("MedicationAdministration/n1/_history/1")).status, 200);
    EXPECT_EQ(found(clinic_.answer(lookup(dose_type, "a"))), 0);
    EXPECT_EQ(clinic_.answer(put(dose_type, "n1", "a", {{"If-Match", "W/\"1\""}})).status, 412);
    EXPECT_EQ(clinic_.answer(create(dose_type, "a")).status, 201);
    EXPECT_EQ(clinic_.store().bearing(dose_type, ours, "a").front()->id, "n2");
}

TEST_F(ModelPeopleTest, ADeletedResourceCanBeBroughtBackWherePutCreates) {
    clinic_.remove(dose_type, "n1");
    EXPECT_EQ(clinic_.answer(put(dose_type, "n1", "a")).status, 201);
    EXPECT_EQ(dose().newest().version, "3");
    EXPECT_EQ(clinic_.store().count(dose_type), 1U);
    clinic_.become(no_update_create());
    clinic_.remove(dose_type, "n1");
    EXPECT_EQ(clinic_.answer(put(dose_type, "n1", "a")).status, 410);
}

TEST_F(ModelPeopleTest, SomeServersForgetThatTheyDeleted) {
    Dialect dialect = no_update_create();
    dialect.does.answers_410_for_deleted = false;
    clinic_.become(dialect);
    clinic_.remove(dose_type, "n1");
    EXPECT_EQ(clinic_.answer(look_at("MedicationAdministration/n1")).status, 404);
    EXPECT_EQ(clinic_.answer(put(dose_type, "n1", "a")).status, 405);
}

TEST_F(ModelPeopleTest, ADuplicateBearsTheSameIdentifier) {
    EXPECT_EQ(clinic_.duplicate(dose_type, "n1"), "n2");
    EXPECT_EQ(found(clinic_.answer(lookup(dose_type, "a"))), 2);
    EXPECT_EQ(clinic_.answer(create(dose_type, "a")).status, 412);
    EXPECT_EQ(clinic_.store().find(dose_type, "n2")->newest().writer, Writer::clinic);
    EXPECT_EQ(clinic_.duplicate(dose_type, "n7"), "");
}

TEST_F(ModelPeopleTest, PeopleEnterResourcesOfTheirOwn) {
    EXPECT_EQ(clinic_.enter(resource_text("Patient", "p")), "n2");
    EXPECT_EQ(clinic_.enter(resource_text("Patient", "q", "own-id")), "own-id");
    EXPECT_EQ(found(clinic_.answer(lookup("Patient", "p"))), 1);
    EXPECT_EQ(clinic_.store().find("Patient", "own-id")->newest().writer, Writer::clinic);
}

TEST_F(ModelPeopleTest, ABackupBringsEverythingBack) {
    const ModelClinic::Snapshot backup = clinic_.snapshot();
    clinic_.answer(create(dose_type, "b"));
    clinic_.edit(dose_type, "n1", "later");
    const std::size_t mark = clinic_.mark();
    clinic_.restore(backup);
    EXPECT_EQ(clinic_.events_since(mark).front().what, Event::What::restored);
    EXPECT_EQ(dose().history.size(), 1U);
    EXPECT_EQ(clinic_.store().find(dose_type, "n2"), nullptr);
    EXPECT_EQ(found(clinic_.answer(lookup(dose_type, "b"))), 0);
    clinic_.answer(create(dose_type, "c"));
    EXPECT_NE(clinic_.store().find(dose_type, "n3"), nullptr);
    clinic_.restore(backup);
    EXPECT_EQ(clinic_.store().count(dose_type), 1U);
}

TEST(ModelBackupTest, IdsComeAgainWhereTheyAreReused) {
    Dialect dialect = thorough();
    dialect.does.reuses_ids = true;
    ModelClinic clinic(dialect);
    const ModelClinic::Snapshot empty = clinic.snapshot();
    clinic.answer(create(dose_type, "a"));
    clinic.restore(empty);
    clinic.answer(create("Observation", "b"));
    EXPECT_NE(clinic.store().find("Observation", "n1"), nullptr);
    EXPECT_EQ(clinic.store().find(dose_type, "n1"), nullptr);
}

TEST_F(ModelPeopleTest, EventsTellWhatHappenedSinceAMark) {
    const std::size_t mark = clinic_.mark();
    EXPECT_EQ(mark, 1U);
    clinic_.answer(put(dose_type, "n1", "a"));
    clinic_.answer(create(dose_type, "a"));
    clinic_.remove(dose_type, "n1");
    std::vector<std::string> told;
    for (const Event& event : clinic_.events_since(mark))
        told.push_back(event.type + "/" + event.id + "/" + event.version);
    EXPECT_THAT(told, ElementsAre("MedicationAdministration/n1/2", "MedicationAdministration/n1/3"));
    EXPECT_EQ(clinic_.events_since(mark)[0].what, Event::What::updated);
    EXPECT_EQ(clinic_.events_since(mark)[1].what, Event::What::deleted);
    EXPECT_TRUE(clinic_.events_since(99).empty());
    EXPECT_EQ(clinic_.requests(), 3U);
}

TEST_F(ModelPeopleTest, ForbiddenContentIsRefusedByItsRule) {
    clinic_.refuse([](const fhir::json::Value& one) { return refuses_words(one, "bad"); }, "no-bad-records");
    const HttpAnswer answer = clinic_.answer(create(dose_type, "bad"));
    EXPECT_EQ(answer.status, 422);
    EXPECT_THAT(answer.body, HasSubstr("no-bad-records"));
    EXPECT_EQ(clinic_.answer(create(dose_type, "good")).status, 201);
    clinic_.break_on([](const fhir::json::Value& one) { return refuses_words(one, "poison"); });
    EXPECT_EQ(clinic_.answer(put(dose_type, "n1", "poison")).status, 500);
    EXPECT_EQ(clinic_.store().count(dose_type), 2U);
}

}  // namespace
}  // namespace nightferry::sim
