#include "tests/sim/misbehaviour.hpp"

#include <gtest/gtest.h>

#include <set>

#include "tests/sim/model_requests.hpp"

namespace nightferry::sim {
namespace {

using fhir::exchange::BundleKind;
using fhir::exchange::find_mismatch;
using fhir::exchange::Mismatch;
using fhir::exchange::read_bundle_answer;
using testing::Each;
using testing::HasSubstr;
using testing::Not;

class MisbehaviourTest : public testing::Test {
 protected:
    HttpAnswer answer_to_bundle(Misbehaviour misbehaviour) {
        return clinic_.answer(send(bundle_), misbehaviour);
    }
    std::optional<Mismatch::What> mismatch(Misbehaviour misbehaviour) {
        const auto read = read_bundle_answer(answer_to_bundle(misbehaviour).body);
        if (!read) return std::nullopt;
        const auto found = find_mismatch(BundleKind::transaction, bundle_.asked(), *read);
        return found ? std::optional(found->what) : std::nullopt;
    }
    bool applied() const { return clinic_.store().count(dose_type) == 1; }

    ModelClinic clinic_{thorough()};
    const fhir::exchange::Transaction bundle_ = dose_bundle("a");
};

TEST(MisbehavioursTest, EveryOneHasANameAndAppliesOrNotAsItSays) {
    std::set<std::string_view> names;
    for (const Misbehaviour misbehaviour : misbehaviours()) {
        const std::string_view name = name_of(misbehaviour);
        names.insert(name);
        ModelClinic clinic(thorough());
        const HttpAnswer answer = clinic.answer(send(dose_bundle("a")), misbehaviour);
        EXPECT_EQ(clinic.store().count(dose_type) == 1, carries_out(misbehaviour)) << name;
        EXPECT_EQ(name.starts_with("before_"), !carries_out(misbehaviour)) << name;
        if (name.starts_with("before_") || name.starts_with("after_")) {
            const std::string digits(name.substr(name.find('_') + 1, 3));
            EXPECT_EQ(std::to_string(answer.status), digits) << name;
        } else {
            EXPECT_LT(answer.status, 300) << name;
        }
    }
    EXPECT_EQ(names.size(), misbehaviours().size());
    EXPECT_FALSE(names.contains("none"));
}

TEST_F(MisbehaviourTest, WaitsAreAskedForInSecondsByDateOrAbsurdly) {
    const auto wait = [&](Misbehaviour misbehaviour) {
        return std::string(header(answer_to_bundle(misbehaviour).headers, "Retry-After"));
    };
    EXPECT_EQ(wait(Misbehaviour::before_429_seconds), "7");
    EXPECT_EQ(wait(Misbehaviour::before_503_seconds), "7");
    EXPECT_EQ(wait(Misbehaviour::before_429_bare), "");
    EXPECT_EQ(wait(Misbehaviour::before_429_date), "Sun, 06 Nov 1994 08:49:37 GMT");
    clinic_.set_retry_date("Fri, 01 Jan 2077 00:00:00 GMT");
    EXPECT_EQ(wait(Misbehaviour::before_429_date), "Fri, 01 Jan 2077 00:00:00 GMT");
    std::set<std::string> absurd;
    for (int i = 0; i < 20; ++i)
        absurd.insert(wait(Misbehaviour::before_429_absurd));
    EXPECT_GE(absurd.size(), 5U);
}

TEST_F(MisbehaviourTest, SpoiledBodiesAreNoBundles) {
    for (const Misbehaviour misbehaviour :
         {Misbehaviour::empty_body, Misbehaviour::truncated, Misbehaviour::html_200,
          Misbehaviour::outcome_200, Misbehaviour::accepted_202, Misbehaviour::after_502_html}) {
        EXPECT_FALSE(read_bundle_answer(answer_to_bundle(misbehaviour).body)) << name_of(misbehaviour);
    }
    EXPECT_EQ(answer_to_bundle(Misbehaviour::accepted_202).status, 202);
    EXPECT_EQ(header(answer_to_bundle(Misbehaviour::html_200).headers, "Content-Type"), "text/html");
    EXPECT_TRUE(applied());
}

TEST_F(MisbehaviourTest, WrongBundlesAreSeenAsSuch) {
    EXPECT_EQ(mismatch(Misbehaviour::none), std::nullopt);
    EXPECT_EQ(mismatch(Misbehaviour::fewer_entries), Mismatch::What::count);
    EXPECT_EQ(mismatch(Misbehaviour::more_entries), Mismatch::What::count);
    EXPECT_EQ(mismatch(Misbehaviour::other_order), Mismatch::What::resource_type);
    EXPECT_EQ(mismatch(Misbehaviour::other_type), Mismatch::What::resource_type);
    EXPECT_EQ(mismatch(Misbehaviour::other_kind), Mismatch::What::kind);
    EXPECT_TRUE(applied());
}

TEST_F(MisbehaviourTest, AnotherIdIsToldForTheFirstLocationOnly) {
    const auto read = read_bundle_answer(answer_to_bundle(Misbehaviour::other_id).body);
    ASSERT_TRUE(read);
    EXPECT_EQ(read->entries[0].location->reference(), "MedicationAdministration/n2");
    EXPECT_EQ(read->entries[1].location->reference(), "Provenance/p-a");
    fhir::exchange::Transaction update;
    fhir::json::Value& provenance = update.update("Provenance", "p-a", {}, {});
    provenance.add_string("resourceType", "Provenance");
    provenance.add_string("id", "p-a");
    const auto told = read_bundle_answer(clinic_.answer(send(update), Misbehaviour::other_id).body);
    const auto found = find_mismatch(BundleKind::transaction, update.asked(), *told);
    ASSERT_TRUE(found);
    EXPECT_EQ(found->what, Mismatch::What::resource_id);
}

TEST_F(MisbehaviourTest, StatusesAndLocationsCanBeMissing) {
    EXPECT_THAT(statuses(answer_to_bundle(Misbehaviour::no_statuses)), Each(0));
    const HttpAnswer garbage = answer_to_bundle(Misbehaviour::garbage_statuses);
    EXPECT_THAT(statuses(garbage), Each(0));
    EXPECT_THAT(garbage.body, HasSubstr("thank you"));
    EXPECT_THAT(answer_to_bundle(Misbehaviour::no_locations).body, Not(HasSubstr("location")));
    EXPECT_EQ(header(clinic_.answer(create(dose_type, "b"), Misbehaviour::no_locations).headers, "Location"),
              "");
    EXPECT_EQ(header(clinic_.answer(create(dose_type, "c"), Misbehaviour::other_type).headers, "Location"),
              "Observation/n4/_history/1");
}

TEST_F(MisbehaviourTest, SearchesCanShowTooMuchOrTooLittle) {
    answer_to_bundle(Misbehaviour::none);
    const auto shown = [&](Misbehaviour misbehaviour) {
        return fhir::exchange::read_search_answer(clinic_.answer(lookup(dose_type, "a"), misbehaviour).body);
    };
    const auto fewer = shown(Misbehaviour::fewer_entries);
    EXPECT_EQ(fewer->matches.size(), 0U);
    EXPECT_FALSE(fewer->is_complete());
    EXPECT_EQ(shown(Misbehaviour::more_entries)->matches.size(), 2U);
    const auto stale = shown(Misbehaviour::stale_search);
    EXPECT_EQ(stale->matches.size(), 0U);
    EXPECT_TRUE(stale->is_complete());
    EXPECT_FALSE(shown(Misbehaviour::html_200));
    EXPECT_EQ(shown(Misbehaviour::no_statuses)->matches.size(), 1U);
}

}  // namespace
}  // namespace nightferry::sim
