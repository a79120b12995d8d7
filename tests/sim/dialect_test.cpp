#include "tests/sim/dialect.hpp"

#include <gtest/gtest.h>

#include <set>

#include "fhir/resource/capability_statement.hpp"
#include "tests/sim/model_requests.hpp"

namespace nightferry::sim {
namespace {

using fhir::resource::read_capability_statement;

std::optional<fhir::resource::CapabilityStatement> statement(const Dialect& dialect) {
    ModelClinic clinic(dialect);
    const auto document = fhir::json::read(clinic.answer(look_at("metadata")).body);
    if (!document) return std::nullopt;
    return read_capability_statement(document->root());
}

class Dice : public Random {
 public:
    explicit Dice(std::uint64_t seed) : state_(seed) {}
    std::uint64_t below(std::uint64_t bound) override {
        state_ = state_ * 6'364'136'223'846'793'005U + 1'442'695'040'888'963'407U;
        return bound == 0 ? 0 : (state_ >> 33) % bound;
    }

 private:
    std::uint64_t state_;
};

TEST(DialectTest, TheStatementShowsTheClaims) {
    const auto honest = statement(thorough());
    ASSERT_TRUE(honest);
    EXPECT_TRUE(honest->can("transaction") && honest->can("batch"));
    const auto* dose = honest->type(dose_type);
    ASSERT_NE(dose, nullptr);
    EXPECT_TRUE(dose->can("create") && dose->can("update") && dose->can("search-type") && dose->can("read"));
    EXPECT_TRUE(dose->can_search_by("identifier"));
    EXPECT_EQ(dose->conditional_create, true);
    EXPECT_EQ(dose->update_create, true);
    EXPECT_EQ(dose->versioning, "versioned");
    EXPECT_FALSE(statement(no_transactions())->can("transaction"));
    EXPECT_TRUE(statement(liar_about_transactions())->can("transaction"));
    EXPECT_EQ(statement(no_conditional_create())->type(dose_type)->conditional_create, false);
    EXPECT_EQ(statement(liar_about_conditional_create())->type(dose_type)->conditional_create, true);
    EXPECT_EQ(statement(modest_about_transactions())->type(dose_type)->update_create, std::nullopt);
    EXPECT_EQ(statement(no_provenance())->type("Provenance"), nullptr);
    EXPECT_FALSE(statement(batch_only())->type(dose_type)->can("create"));
    EXPECT_FALSE(statement(empty_search())->type(dose_type)->can_search_by("identifier"));
    EXPECT_EQ(statement(liar_about_versions())->type(dose_type)->versioning, "versioned-update");
}

TEST(DialectTest, TheStatementCanBeMissingOrUnreadable) {
    const auto status_for = [](Metadata metadata) {
        Dialect dialect = thorough();
        dialect.claims.metadata = metadata;
        EXPECT_EQ(statement(dialect).has_value(), metadata == Metadata::readable);
        ModelClinic clinic(dialect);
        return clinic.answer(look_at("metadata")).status;
    };
    EXPECT_EQ(status_for(Metadata::readable), 200);
    EXPECT_EQ(status_for(Metadata::absent), 404);
    EXPECT_EQ(status_for(Metadata::broken), 500);
    EXPECT_EQ(status_for(Metadata::web_page), 200);
    EXPECT_EQ(status_for(Metadata::other_resource), 200);
    EXPECT_EQ(status_for(Metadata::truncated), 200);
}

TEST(DialectTest, NamedDialectsDifferAndAllServeSomething) {
    std::set<std::string> names;
    for (const Dialect& dialect : named_dialects()) {
        names.insert(dialect.name);
        ModelClinic clinic(dialect);
        int served = 0;
        for (const auto kind : {fhir::exchange::BundleKind::transaction, fhir::exchange::BundleKind::batch})
            served += clinic.answer(send(dose_bundle("a", kind))).status < 300 ? 1 : 0;
        served += clinic.answer(create(dose_type, "b", false)).status < 300 ? 1 : 0;
        EXPECT_GT(served, 0) << dialect.name;
    }
    EXPECT_EQ(names.size(), named_dialects().size());
}

TEST(DialectTest, RandomDialectsMeetEverySwitchAndDependOnNothingElse) {
    Dice dice(1);
    std::set<Support> conditions;
    std::set<Atomicity> atomicities;
    std::set<IdentifierSearch> searches;
    std::set<Metadata> metadata;
    std::set<bool> transactions, batches, lies;
    for (int i = 0; i < 2'000; ++i) {
        const Dialect dialect = random_dialect(dice);
        conditions.insert(dialect.does.conditional_create);
        atomicities.insert(dialect.does.atomicity);
        searches.insert(dialect.does.identifier_search);
        metadata.insert(dialect.claims.metadata);
        transactions.insert(dialect.does.transactions);
        batches.insert(dialect.does.batches);
        lies.insert(dialect.claims.transaction != dialect.does.transactions);
    }
    EXPECT_EQ(conditions.size(), 3U);
    EXPECT_EQ(atomicities.size(), 3U);
    EXPECT_EQ(searches.size(), 4U);
    EXPECT_EQ(metadata.size(), 4U) << "with the others a hub stops for good";
    EXPECT_EQ(transactions.size() + batches.size() + lies.size(), 6U);
    Dice one(7);
    Dice same(7);
    EXPECT_EQ(statement(random_dialect(one)).has_value(), statement(random_dialect(same)).has_value());
}

}  // namespace
}  // namespace nightferry::sim
