// In which manner requests are put to a server that says this of itself.
#include "daemon/sync/manner.hpp"

#include "fhir/json/reader.hpp"
#include "tests/support/published_examples.hpp"

namespace nightferry::sync {

namespace {

using fhir::spec::Release;

Manner manner_of(const fhir::json::Value& statement) {
    const auto read = fhir::resource::read_capability_statement(statement);
    EXPECT_TRUE(read);
    return read ? manner_for(*read) : Manner{};
}

// What a server says of one type, as in CapabilityStatement.rest.resource.
std::string type(const std::string& name, const std::string& members = "",
                 const std::vector<std::string>& interactions = {"read", "create", "update", "search-type"}) {
    std::string codes;
    for (const std::string& one : interactions)
        codes += (codes.empty() ? "" : ",") + (R"({"code":")" + one + "\"}");
    return R"({"type":")" + name + R"(","interaction":[)" + codes + "]" + (members.empty() ? "" : ",") +
           members + "}";
}

const std::string all_conditions =
    R"("versioning":"versioned-update","conditionalCreate":true,"updateCreate":true)";

Manner manner_with(const std::vector<std::string>& types,
                   const std::string& system_interactions = R"({"code":"transaction"},{"code":"batch"})") {
    std::string all;
    for (const std::string& one : types)
        all += (all.empty() ? "" : ",") + one;
    const auto document =
        fhir::json::read(R"({"resourceType":"CapabilityStatement","rest":[{"mode":"server","interaction":[)" +
                         system_interactions + R"(],"resource":[)" + all + "]}]}");
    return manner_of(document->root());
}

// Of a server that says the same of both types that entries become.
Manner manner_with_both(const std::string& members, const std::vector<std::string>& interactions = {
                                                        "read", "create", "update", "search-type"}) {
    return manner_with({type("MedicationAdministration", members, interactions),
                        type("Observation", members, interactions), type("Provenance", all_conditions)});
}

TEST(MannerTest, ServerThatClaimsEverythingIsServedInTheBestWay) {
    const Manner best = manner_with_both(all_conditions);
    EXPECT_EQ(best, (Manner{Carrier::transaction, Creating::on_condition, true, true, true, true}));
}

TEST(MannerTest, CarrierIsTheBestOneThatIsClaimed) {
    const auto carrier = [](const std::string& interactions) {
        return manner_with({type("Observation", all_conditions)}, interactions).carrier;
    };
    EXPECT_EQ(carrier(R"({"code":"transaction"})"), Carrier::transaction);
    EXPECT_EQ(carrier(R"({"code":"batch"},{"code":"transaction"})"), Carrier::transaction);
    EXPECT_EQ(carrier(R"({"code":"batch"},{"code":"history-system"})"), Carrier::batch);
    EXPECT_EQ(carrier(R"({"code":"search-system"})"), Carrier::single);
    EXPECT_EQ(carrier(""), Carrier::single);
}

TEST(MannerTest, ServerThatClaimsNoWayOfWritingAtAllIsTriedWithATransaction) {
    const std::vector<std::string> no_create{"read", "search-type"};
    EXPECT_EQ(manner_with({type("Observation", all_conditions, no_create)}, "").carrier,
              Carrier::transaction);
    EXPECT_EQ(manner_with({type("MedicationAdministration", all_conditions),
                           type("Observation", all_conditions, no_create)},
                          "")
                  .carrier,
              Carrier::transaction)
        << "one of the two could not be written";
    EXPECT_EQ(manner_with({type("Observation", all_conditions, no_create)}, R"({"code":"batch"})").carrier,
              Carrier::batch);
}

TEST(MannerTest, CreatingIsOnConditionOnlyWhereThatIsClaimed) {
    EXPECT_EQ(manner_with_both(R"("conditionalCreate":true)").creating, Creating::on_condition);
    EXPECT_EQ(manner_with_both(R"("conditionalCreate":true,"updateCreate":true)").creating,
              Creating::on_condition);
    EXPECT_EQ(manner_with_both(R"("conditionalCreate":false,"updateCreate":true)").creating,
              Creating::under_our_id);
    EXPECT_EQ(manner_with_both(R"("conditionalCreate":false,"updateCreate":false)").creating,
              Creating::after_a_look);
    EXPECT_EQ(manner_with_both("").creating, Creating::after_a_look) << "what is not said is not claimed";
}

TEST(MannerTest, IdsOfOurOwnNeedUpdatesThatAreOffered) {
    EXPECT_EQ(manner_with_both(R"("updateCreate":true)", {"create", "search-type"}).creating,
              Creating::after_a_look);
}

TEST(MannerTest, BothTypesHaveToBeAbleToDoIt) {
    const Manner differing =
        manner_with({type("MedicationAdministration", all_conditions), type("Observation", "", {"create"})});
    EXPECT_EQ(differing.creating, Creating::after_a_look);
    EXPECT_FALSE(differing.checks_versions);
    EXPECT_FALSE(differing.searches);
}

TEST(MannerTest, TypeThatIsNotListedHasNoSay) {
    const Manner observations_only = manner_with({type("Observation", all_conditions)});
    EXPECT_EQ(observations_only.creating, Creating::on_condition);
    EXPECT_TRUE(observations_only.checks_versions);
    EXPECT_TRUE(observations_only.searches);
}

TEST(MannerTest, VersionsAreCheckedUnlessItSaysNoneOrNothing) {
    EXPECT_TRUE(manner_with_both(R"("versioning":"versioned-update")").checks_versions);
    EXPECT_TRUE(manner_with_both(R"("versioning":"versioned")").checks_versions);
    EXPECT_FALSE(manner_with_both(R"("versioning":"no-version")").checks_versions);
    EXPECT_FALSE(manner_with_both("").checks_versions);
}

TEST(MannerTest, SearchingNeedsSearchesAndTheIdentifierAmongParametersThatAreListed) {
    EXPECT_TRUE(manner_with_both("").searches) << "parameters are not always listed";
    EXPECT_TRUE(manner_with_both(R"("searchParam":[{"name":"code"},{"name":"identifier"}])").searches);
    EXPECT_FALSE(manner_with_both(R"("searchParam":[{"name":"code"}])").searches);
    EXPECT_FALSE(manner_with_both("", {"read", "create", "update"}).searches);
}

TEST(MannerTest, ProvenanceNeedsAnIdOfOurs) {
    const auto takes = [](const std::vector<std::string>& provenance) {
        std::vector<std::string> types{type("Observation", all_conditions)};
        types.insert(types.end(), provenance.begin(), provenance.end());
        return manner_with(types).takes_provenance;
    };
    EXPECT_TRUE(takes({type("Provenance", R"("updateCreate":true)")}));
    EXPECT_FALSE(takes({type("Provenance", R"("updateCreate":false)")}));
    EXPECT_FALSE(takes({type("Provenance", "")}));
    EXPECT_FALSE(takes({type("Provenance", R"("updateCreate":true)", {"read", "create"})}));
    EXPECT_FALSE(takes({})) << "it is not listed";
}

TEST(MannerTest, StatementWithoutTypesSaysNothing) {
    const Manner guess = manner_with({}, R"({"code":"batch"})");
    EXPECT_EQ(guess, Manner{});
    EXPECT_FALSE(guess.is_claimed);
    EXPECT_TRUE(manner_with({type("Patient")}).is_claimed);
}

TEST(MannerTest, LateRequestsAreHarmlessOnlyUnderConditionsThatWereClaimed) {
    EXPECT_TRUE(manner_with_both(all_conditions).late_requests_are_harmless());
    EXPECT_FALSE(Manner{}.late_requests_are_harmless()) << "nothing was claimed";
    EXPECT_FALSE(manner_with_both(R"("versioning":"versioned-update","updateCreate":true)")
                     .late_requests_are_harmless());
    EXPECT_FALSE(manner_with_both(R"("versioning":"no-version","conditionalCreate":true)")
                     .late_requests_are_harmless());
}

TEST(MannerTest, StepsGoDownToSingleRequestsAndStayThere) {
    EXPECT_EQ(below(Carrier::transaction), Carrier::batch);
    EXPECT_EQ(below(Carrier::batch), Carrier::single);
    EXPECT_EQ(below(Carrier::single), Carrier::single);
}

// CapabilityStatement-base of the packages hl7.fhir.r4.examples, r4b and r5: everything that the standard
// has. It says nothing of versioning and updateCreate.
TEST(MannerTest, PublishedStatementOfTheWholeStandardIsTakenAtItsWord) {
    for (const Release release : fhir::spec::releases) {
        const auto document = test::published(release, "CapabilityStatement-base");
        EXPECT_EQ(manner_of(document.root()),
                  (Manner{Carrier::transaction, Creating::on_condition, false, true, false, true}));
    }
}

// CapabilityStatement-example of the same packages knows transactions and no type but Patient, and
// CapabilityStatement-phr no Bundles and four types that entries do not become.
TEST(MannerTest, PublishedStatementsWithoutOurTypesAreAskedInTheBestWayTheyKnow) {
    for (const Release release : fhir::spec::releases) {
        for (const char* name : {"CapabilityStatement-example", "CapabilityStatement-phr"}) {
            const bool has_transactions = name == std::string_view("CapabilityStatement-example");
            const auto document = test::published(release, name);
            EXPECT_EQ(manner_of(document.root()),
                      (Manner{has_transactions ? Carrier::transaction : Carrier::single,
                              Creating::on_condition, true, true, false, true}))
                << name;
        }
    }
}

// CapabilityStatement-messagedefinition of the same packages describes no REST interface at all.
TEST(MannerTest, PublishedStatementWithoutTypesIsNoClaim) {
    for (const Release release : fhir::spec::releases) {
        const auto document = test::published(release, "CapabilityStatement-messagedefinition");
        EXPECT_EQ(manner_of(document.root()), Manner{});
    }
}

// The ways that are left, in turn, until there is none.
std::vector<Way> ways(const Manner& manner, bool replaces, bool singles_refused) {
    std::vector<Way> tried{usual_way(manner)};
    while (const auto next = next_way(tried, manner, replaces, singles_refused))
        tried.push_back(*next);
    return tried;
}

TEST(NextWayTest, RefusedEntryIsTriedAloneAndThenWithoutItsCondition) {
    EXPECT_THAT(ways(Manner{}, false, false),
                testing::ElementsAre(Way{Carrier::transaction, true, Creating::on_condition},
                                     Way{Carrier::single, false, Creating::on_condition},
                                     Way{Carrier::single, false, Creating::after_a_look}));
}

TEST(NextWayTest, WhereSinglesAreRefusedOtherBundlesAreTried) {
    EXPECT_THAT(ways(Manner{}, false, true),
                testing::ElementsAre(Way{Carrier::transaction, true, Creating::on_condition},
                                     Way{Carrier::single, false, Creating::on_condition},
                                     Way{Carrier::transaction, false, Creating::on_condition},
                                     Way{Carrier::batch, false, Creating::on_condition},
                                     Way{Carrier::transaction, true, Creating::after_a_look},
                                     Way{Carrier::transaction, false, Creating::after_a_look},
                                     Way{Carrier::batch, false, Creating::after_a_look}));
}

TEST(NextWayTest, UpdateIsCreatedInNoWay) {
    EXPECT_THAT(ways(Manner{}, true, false),
                testing::ElementsAre(Way{Carrier::transaction, true, Creating::on_condition},
                                     Way{Carrier::single, false, Creating::on_condition}));
}

TEST(NextWayTest, WhereNothingCanBeSearchedForNothingIsCreatedAfterALook) {
    Manner manner;
    manner.searches = false;
    EXPECT_THAT(ways(manner, false, false), testing::SizeIs(2));
}

TEST(NextWayTest, WhatIsSaidToTakeSinglesOnlyIsSentBundlesWhereItRefusesThem) {
    Manner manner;
    manner.carrier = Carrier::single;
    EXPECT_THAT(ways(manner, false, false), testing::SizeIs(2));
    EXPECT_THAT(ways(manner, false, true), testing::Contains(Way{Carrier::batch, false, manner.creating}));
    EXPECT_THAT(ways(manner, false, true),
                testing::Contains(Way{Carrier::transaction, false, manner.creating}));
}

}  // namespace

}  // namespace nightferry::sync
