// How much goes out at once, and which of what waits.
#include "tests/daemon/sync/asked.hpp"

namespace nightferry::sync {

namespace {

using namespace std::chrono_literals;
using namespace test;
using testing::Each;
using testing::ElementsAre;

Policy at_most(std::size_t deliveries) {
    Policy policy;
    policy.deliveries_per_bundle_max = deliveries;
    return policy;
}

// Takes as many as the machine wants and lets the clinic take them all.
void send_whole_bundle(Script& script, Clinic& clinic) {
    static int made = 0;
    std::vector<logbook::Parcel> parcels;
    for (std::size_t i = script.takes(); i > 0; --i)
        parcels.push_back(parcel(a_weight("amount" + std::to_string(++made))));
    script.give(std::move(parcels));
    script.answer(clinic.answer(script.sends()));
    script.settles();
}

TEST(MachineAmountTest, BundleOfTooManyBytesIsDivided) {
    Policy policy;
    policy.bundle_bytes_max = 8'000;
    DialectScript script(sim::thorough(), policy);
    script.send(weights(16));
    EXPECT_EQ(script.last_state.pass_confirmed, 16);
    EXPECT_GT(script.requests.size(), 2u);
    EXPECT_LT(script.requests.size(), 16u);
    for (const HttpRequest& request : script.requests)
        EXPECT_LE(request.body.size(), policy.bundle_bytes_max);
}

TEST(MachineAmountTest, OneEntryOfTooManyBytesIsSentAllTheSame) {
    Policy policy;
    policy.bundle_bytes_max = 10;
    DialectScript script(sim::thorough(), policy);
    EXPECT_THAT(script.send(weights(2)), Each("transaction of 2"));
    EXPECT_EQ(script.last_state.pass_confirmed, 2);
}

TEST(MachineAmountTest, AfterAFailureBundlesGrowByAQuarterUpToTheMost) {
    Script script({}, {}, at_most(8));
    Clinic clinic;
    script.send_first(weights(8));
    script.answer({500, {}, ""});
    script.settles();
    script.ring();
    std::vector<std::size_t> limits;
    for (int bundles = 0; bundles < 7; ++bundles) {
        limits.push_back(script.takes());
        send_whole_bundle(script, clinic);
    }
    EXPECT_THAT(limits, ElementsAre(1, 4, 5, 6, 7, 8, 8));
}

TEST(MachineAmountTest, BundleThatWasNotFullTeachesNothing) {
    Script script({}, {}, at_most(8));
    Clinic clinic;
    script.send_first(weights(8));
    script.answer({500, {}, ""});
    script.settles();
    script.ring();
    send_whole_bundle(script, clinic);
    ASSERT_EQ(script.takes(), 4u);
    script.give({parcel(a_weight("one"))});
    script.answer(clinic.answer(script.sends()));
    script.settles();
    EXPECT_EQ(script.takes(), 4u);
}

TEST(MachineAmountTest, WhatWasTooMuchIsNotTriedAgainInThisPass) {
    Script script({}, {}, at_most(4));
    Clinic clinic;
    script.send_first(weights(4));
    script.answer({413, {}, ""});
    for (int halves = 0; halves < 2; ++halves) {
        script.answer(clinic.answer(script.sends()));
        script.settles();
    }
    for (int bundles = 0; bundles < 3; ++bundles) {
        EXPECT_EQ(script.takes(), 3u);
        send_whole_bundle(script, clinic);
    }
    script.give({});
    script.settles();
    script.request_pass();
    EXPECT_EQ(script.takes(), 4u) << "the next pass tries it once more";
}

TEST(MachineAmountTest, HalfOfWhatIsTakenMayBeFresh) {
    for (const auto& [most, fresh] : std::map<std::size_t, std::size_t>{{50, 25}, {5, 2}, {2, 1}}) {
        Script script({}, {}, at_most(most));
        script.request_pass();
        EXPECT_EQ(script.take().order.fresh, fresh);
    }
}

TEST(MachineAmountTest, WhereOneGoesAtATimeTheyTakeTurns) {
    Script script({}, {}, at_most(1));
    Clinic clinic;
    script.request_pass();
    std::vector<std::size_t> fresh;
    for (int bundles = 0; bundles < 4; ++bundles) {
        fresh.push_back(script.take().order.fresh);
        send_whole_bundle(script, clinic);
    }
    EXPECT_THAT(fresh, ElementsAre(0, 1, 0, 1));
}

// An old entry that breaks the server must not keep the new ones from it for ever.
TEST(MachineAmountTest, TheyTakeTurnsAlsoWhileTheClinicFails) {
    Script script;
    script.request_pass();
    std::vector<std::size_t> fresh;
    for (int failures = 0; failures < 4; ++failures) {
        script.give(weights(1));
        script.answer({500, {}, ""});
        script.settles();
        script.ring();
        EXPECT_EQ(script.takes(), 1u);
        fresh.push_back(script.take().order.fresh);
    }
    EXPECT_THAT(fresh, ElementsAre(0, 1, 0, 1));
}

}  // namespace

}  // namespace nightferry::sync
