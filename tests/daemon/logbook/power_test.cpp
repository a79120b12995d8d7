// A process that ends, a power cut and a failing disk at every single call of a few days: nothing that was
// acknowledged is ever missing afterwards.
#include "tests/daemon/logbook/simulated.hpp"

namespace nightferry::logbook {

namespace {

using namespace test;

// How many calls the few days take when nothing happens.
std::uint64_t calls_of_a_quiet_life() {
    SimulatedHome home;
    Acknowledged acknowledged;
    EXPECT_TRUE(home.live(acknowledged).has_value());
    EXPECT_EQ(acknowledged.accepted.size(), 5u);
    EXPECT_EQ(acknowledged.confirmed.size(), 2u);
    const std::uint64_t calls = home.disk.counters().calls;
    home.expect_whole(acknowledged);
    return calls;
}

// Lives until the n-th call goes wrong, and once more from what is left. `after` is what happens in between.
template <class After>
void live_through(std::uint64_t n, std::uint64_t seed, const sim::Faults& faults, const After& after) {
    SCOPED_TRACE("call " + std::to_string(n) + ", seed " + std::to_string(seed));
    SimulatedHome home(seed);
    sim::Dice dice(seed);
    Acknowledged acknowledged;
    home.set_faults(faults);
    const auto lived = home.live(acknowledged);
    home.set_faults({});
    EXPECT_TRUE(lived || lived.error().code == Errc::storage) << lived.error().detail;
    after(home, dice);
    home.expect_whole(acknowledged);
    // Whoever handed something in and got no answer does so again, and then the lights go out.
    EXPECT_TRUE(home.live(acknowledged).has_value());
    home.disk.cut_power(dice);
    home.expect_whole(acknowledged);
}

sim::Faults dying_at(std::uint64_t n) {
    sim::Faults faults;
    faults.die_at = n;
    return faults;
}

sim::Faults failing_at(std::uint64_t n) {
    sim::Faults faults;
    faults.fail_at = n;
    return faults;
}

TEST(PowerTest, ProcessThatEndsInAnyCallLosesNothing) {
    const std::uint64_t calls = calls_of_a_quiet_life();
    ASSERT_GT(calls, 100u);
    for (std::uint64_t n = 1; n <= calls; ++n)
        live_through(n, n, dying_at(n), [](SimulatedHome& home, sim::Dice&) { home.disk.kill(); });
}

TEST(PowerTest, PowerCutInAnyCallLosesNothing) {
    const std::uint64_t calls = calls_of_a_quiet_life();
    for (std::uint64_t n = 1; n <= calls; ++n) {
        for (std::uint64_t seed = 0; seed < 2; ++seed)
            live_through(n, n * 2 + seed, dying_at(n),
                         [](SimulatedHome& home, sim::Dice& dice) { home.disk.cut_power(dice); });
    }
}

TEST(PowerTest, FailureOfAnyCallLosesNothing) {
    const std::uint64_t calls = calls_of_a_quiet_life();
    for (std::uint64_t n = 1; n <= calls; ++n) {
        live_through(n, n, failing_at(n), [](SimulatedHome&, sim::Dice&) {});
        live_through(n, n, failing_at(n),
                     [](SimulatedHome& home, sim::Dice& dice) { home.disk.cut_power(dice); });
    }
}

TEST(PowerTest, KillBeforeTheSyncAndASecondHandingInSurviveThePowerCut) {
    // Between the write of the entry and its sync: the entry is visible to the next process, not durable, and
    // handing it in again changes nothing.
    int met = 0;
    for (std::uint64_t n = 1; n < 60; ++n) {
        SimulatedHome home(n);
        Acknowledged acknowledged;
        {
            Process now = home.process();
            home.set_faults(dying_at(n));
            (void)now.accept("w0", acknowledged);
            home.disk.die();
        }
        home.set_faults({});
        home.disk.kill();
        {
            Process now = home.process();
            if (acknowledged.accepted.empty() && now.has("w0")) ++met;
            EXPECT_TRUE(now.accept("w0", acknowledged).has_value());
            home.disk.die();
        }
        sim::Dice dice(n);
        home.disk.cut_power(dice);
        home.expect_whole(acknowledged);
    }
    EXPECT_GT(met, 0);
}

TEST(PowerTest, DiskThatFailsNowAndThenLosesNothing) {
    for (std::uint64_t seed = 1; seed <= 150; ++seed) {
        SCOPED_TRACE(seed);
        SimulatedHome home(seed);
        sim::Dice dice(seed);
        Acknowledged acknowledged;
        for (int day = 0; day < 6; ++day) {
            sim::Faults faults;
            faults.per_mille = static_cast<unsigned>(dice.below(60));
            faults.die_at = dice.below(3) == 0 ? 1 + dice.below(200) : 0;
            home.set_faults(faults);
            (void)home.live(acknowledged);
            home.set_faults({});
            if (home.disk.is_dead()) home.disk.kill();
            if (dice.below(3) == 0) home.disk.cut_power(dice);
        }
        home.expect_whole(acknowledged);
    }
}

}  // namespace

}  // namespace nightferry::logbook
