#include "tests/sim/model_clinic.hpp"

#include <gtest/gtest.h>

#include <set>

#include "fhir/exchange/etag.hpp"
#include "fhir/exchange/paging.hpp"
#include "fhir/exchange/same_content.hpp"
#include "tests/sim/model_requests.hpp"

namespace nightferry::sim {
namespace {

using fhir::exchange::read_search_answer;
using testing::HasSubstr;
using testing::Not;

Dialect with(std::function<void(Does&)> change) {
    Dialect dialect = thorough();
    change(dialect.does);
    return dialect;
}

int status_of(ModelClinic& clinic, const HttpRequest& request) {
    return clinic.answer(request).status;
}

TEST(ModelClinicTest, ACreateIsAnsweredWithWhereAndWhichVersion) {
    ModelClinic clinic(thorough());
    const HttpAnswer first = clinic.answer(create(dose_type, "a"));
    EXPECT_EQ(first.status, 201);
    EXPECT_EQ(header(first.headers, "Location"), "MedicationAdministration/n1/_history/1");
    EXPECT_EQ(header(first.headers, "ETag"), "W/\"1\"");
    const HttpAnswer second = clinic.answer(create(dose_type, "a"));
    EXPECT_EQ(second.status, 200);
    EXPECT_EQ(header(second.headers, "Location"), "MedicationAdministration/n1/_history/1");
    EXPECT_EQ(status_of(clinic, create(dose_type, "a", false)), 201);
    EXPECT_EQ(status_of(clinic, create(dose_type, "a")), 412);
}

TEST(ModelClinicTest, ConditionsCanBeIgnoredOrRejected) {
    ModelClinic careless(no_conditional_create());
    EXPECT_EQ(status_of(careless, create(dose_type, "a")), 201);
    EXPECT_EQ(status_of(careless, create(dose_type, "a")), 201);
    EXPECT_EQ(careless.store().bearing(dose_type, ours, "a").size(), 2U);
    careless.answer(send(dose_bundle("b")));
    careless.answer(send(dose_bundle("b")));
    EXPECT_EQ(careless.store().bearing(dose_type, ours, "b").size(), 2U);
    ModelClinic strict(rejects_conditional_create());
    EXPECT_EQ(status_of(strict, create(dose_type, "a")), 412);
    EXPECT_EQ(status_of(strict, create(dose_type, "a", false)), 201);
}

TEST(ModelClinicTest, ConditionsOnAnythingElseAreRefused) {
    ModelClinic clinic(thorough());
    for (const char* other : {"status=completed", "identifier", "x", "identifier=a&status=b"}) {
        HttpRequest request = create(dose_type, "a", false);
        request.headers.emplace_back("If-None-Exist", other);
        EXPECT_EQ(status_of(clinic, request), 400) << other;
    }
}

TEST(ModelClinicTest, PutCreatesOrDoesNot) {
    ModelClinic clinic(thorough());
    EXPECT_EQ(status_of(clinic, put(dose_type, "x", "a")), 201);
    EXPECT_EQ(status_of(clinic, put(dose_type, "x", "a")), 200);
    EXPECT_EQ(clinic.store().find(dose_type, "x")->newest().version, "2");
    for (const int status : {404, 405, 400}) {
        ModelClinic other(with([&](Does& does) {
            does.update_create = false;
            does.no_update_create_status = status;
        }));
        EXPECT_EQ(status_of(other, put(dose_type, "x", "a")), status);
    }
    ModelClinic odd(odd_headers());
    EXPECT_EQ(status_of(odd, put(dose_type, "x", "a")), 200);
    EXPECT_EQ(odd.store().count(dose_type), 1U);
}

TEST(ModelClinicTest, VersionsAreCheckedOrNot) {
    const HttpHeaders stale{{"If-Match", "W/\"7\""}};
    ModelClinic clinic(thorough());
    clinic.answer(put(dose_type, "x", "a"));
    EXPECT_EQ(status_of(clinic, put(dose_type, "x", "a", stale)), 412);
    EXPECT_EQ(status_of(clinic, put(dose_type, "x", "a", {{"If-Match", "W/\"1\""}})), 200);
    clinic.become(liar_about_versions());
    EXPECT_EQ(status_of(clinic, put(dose_type, "x", "a", stale)), 200);
    clinic.become(with([](Does& does) { does.requires_versions = true; }));
    EXPECT_EQ(status_of(clinic, put(dose_type, "x", "a")), 412);
    EXPECT_EQ(status_of(clinic, put(dose_type, "y", "b")), 201);
}

TEST(ModelClinicTest, IfNoneMatchKeepsWhatIsThere) {
    const HttpHeaders star{{"If-None-Match", "*"}};
    ModelClinic clinic(thorough());
    EXPECT_EQ(status_of(clinic, put(dose_type, "x", "a", star)), 201);
    EXPECT_EQ(status_of(clinic, put(dose_type, "x", "a", star)), 412);
    clinic.become(with([](Does& does) { does.if_none_match_star = false; }));
    EXPECT_EQ(status_of(clinic, put(dose_type, "x", "a", star)), 200);
}

TEST(ModelClinicTest, TypesCanBeUnsupported) {
    ModelClinic clinic(with([](Does& does) {
        does.types = {"Observation"};
        does.unsupported_status = 422;
    }));
    EXPECT_EQ(status_of(clinic, create(dose_type, "a")), 422);
    EXPECT_EQ(status_of(clinic, lookup(dose_type, "a")), 422);
    EXPECT_EQ(status_of(clinic, create("Observation", "a")), 201);
    ModelClinic other(no_provenance());
    EXPECT_EQ(status_of(other, put("Provenance", "x", "a")), 404);
    EXPECT_EQ(status_of(other, create(dose_type, "a")), 201);
}

TEST(ModelClinicTest, SingleRequestsCanBeUnsupported) {
    ModelClinic clinic(batch_only());
    EXPECT_EQ(status_of(clinic, create(dose_type, "a")), 405);
    EXPECT_EQ(status_of(clinic, put(dose_type, "x", "a")), 405);
    EXPECT_EQ(status_of(clinic, send(dose_bundle("a", fhir::exchange::BundleKind::batch))), 200);
    EXPECT_EQ(status_of(clinic, {"DELETE", "/Observation/n1", {}, {}}), 405);
}

TEST(ModelClinicTest, AnswersCanSayMoreOrLess) {
    ModelClinic quiet(silent());
    const HttpAnswer nothing = quiet.answer(create(dose_type, "a"));
    EXPECT_EQ(header(nothing.headers, "Location"), "");
    EXPECT_EQ(header(nothing.headers, "ETag"), "");
    EXPECT_EQ(nothing.body, "");
    EXPECT_THAT(quiet.answer(lookup(dose_type, "a")).body, Not(HasSubstr("versionId")));
    const auto read = fhir::exchange::read_bundle_answer(quiet.answer(send(dose_bundle("b"))).body);
    EXPECT_FALSE(read->entries[0].location);
    ModelClinic odd(odd_headers());
    const HttpAnswer strange = odd.answer(create(dose_type, "a"));
    EXPECT_EQ(header(strange.headers, "Location"), "4_0_1/MedicationAdministration/n1");
    EXPECT_EQ(header(strange.headers, "ETag"), "1");
    ModelClinic chatty(with([](Does& does) {
        does.gives_location = false;
        does.returns_representation = true;
    }));
    const HttpAnswer whole = chatty.answer(create(dose_type, "a"));
    EXPECT_EQ(whole.body, chatty.store().find(dose_type, "n1")->text());
    const auto told = fhir::exchange::read_bundle_answer(chatty.answer(send(dose_bundle("b"))).body);
    EXPECT_EQ(told->entries[0].location->reference(), "MedicationAdministration/n2");
}

TEST(ModelClinicTest, WhatIsStoredCanLookDifferentAndSayTheSame) {
    ModelClinic clinic(decorating());
    const HttpAnswer answer = clinic.answer(create(dose_type, "a"));
    EXPECT_THAT(answer.body, HasSubstr(R"("value":1.5})"));
    EXPECT_THAT(answer.body, HasSubstr("lastUpdated"));
    EXPECT_THAT(answer.body, HasSubstr("xhtml"));
    const std::string version = clinic.store().find(dose_type, "n1")->newest().version;
    EXPECT_EQ(version.size(), 8U);
    EXPECT_EQ(header(answer.headers, "ETag"), fhir::exchange::etag_for(version));
    const auto sent = fhir::json::read(resource_text(dose_type, "a"));
    const auto kept = fhir::json::read(answer.body);
    EXPECT_TRUE(fhir::exchange::same_content(sent->root(), kept->root()));
}

TEST(ModelClinicTest, ASearchFindsByIdentifierUnlessTheServerCannot) {
    const auto found_by = [](Dialect dialect) {
        ModelClinic clinic(std::move(dialect));
        clinic.answer(create(dose_type, "a"));
        clinic.answer(create(dose_type, "b"));
        return found(clinic.answer(lookup(dose_type, "a")));
    };
    EXPECT_EQ(found_by(thorough()), 1);
    EXPECT_EQ(found_by(blind_search()), 2);
    EXPECT_EQ(found_by(empty_search()), 0);
    EXPECT_EQ(found_by(with([](Does& does) { does.identifier_search = IdentifierSearch::rejected; })), -1);
    ModelClinic clinic(thorough());
    clinic.answer(create(dose_type, "a|b, $c"));
    EXPECT_EQ(found(clinic.answer(lookup(dose_type, "a|b, $c"))), 1);
    EXPECT_EQ(found(clinic.answer(look_at("MedicationAdministration?identifier=a%5C%7Cb%5C%2C%20%5C%24c"))),
              1);
    EXPECT_EQ(found(clinic.answer(look_at("MedicationAdministration"))), 1);
}

TEST(ModelClinicTest, LongResultsComeByPages) {
    for (const Addresses addresses : {Addresses::absolute, Addresses::relative}) {
        Dialect dialect = paging(2);
        dialect.does.addresses = addresses;
        ModelClinic clinic(dialect);
        for (int i = 0; i < 5; ++i)
            clinic.answer(create(dose_type, "a", false));
        std::string target = lookup(dose_type, "a").target;
        std::set<std::string> ids;
        int pages = 0;
        while (!target.empty()) {
            const auto page = read_search_answer(clinic.answer({"GET", target, {}, {}}).body);
            ASSERT_TRUE(page);
            EXPECT_FALSE(page->total);
            for (const auto& match : page->matches)
                ids.insert(match.location.id);
            ++pages;
            if (page->next.empty()) break;
            target = fhir::exchange::target_within(dialect.does.base_url, target, page->next).value_or("");
        }
        EXPECT_EQ(pages, 3);
        EXPECT_EQ(ids.size(), 5U);
    }
}

TEST(ModelClinicTest, AsynchronousWritesHappenLater) {
    ModelClinic clinic(asynchronous());
    EXPECT_EQ(status_of(clinic, send(dose_bundle("a"))), 202);
    EXPECT_EQ(status_of(clinic, create(dose_type, "b")), 202);
    EXPECT_EQ(found(clinic.answer(lookup(dose_type, "a"))), 0);
    EXPECT_EQ(clinic.apply_pending(), 2U);
    EXPECT_EQ(clinic.pending(), 0U);
    EXPECT_EQ(found(clinic.answer(lookup(dose_type, "a"))), 1);
    EXPECT_EQ(clinic.store().count(dose_type), 2U);
    clinic.answer(create(dose_type, "c"));
    clinic.restore(clinic.snapshot());
    EXPECT_EQ(clinic.apply_pending(), 0U);
}

}  // namespace
}  // namespace nightferry::sim
