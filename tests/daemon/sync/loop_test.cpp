// The loop with a real logbook and a clinic: everything arrives once, whatever goes wrong on the way.
#include "daemon/sync/loop.hpp"

#include "tests/daemon/sync/world.hpp"

namespace nightferry::sync {

namespace {

using namespace std::chrono_literals;
using namespace test;
using testing::Contains;
using testing::HasSubstr;

// A fortnight of a home: doses, a finding that names its dose, weights.
std::vector<entry::Submission> records(int count) {
    std::vector<entry::Submission> all;
    for (int i = 0; i < count; ++i) {
        const std::string label = "e" + std::to_string(i);
        if (i % 4 == 3) {
            all.push_back(a_weight(label));
        } else if (i % 4 == 1) {
            all.push_back(a_bruise(label, "e" + std::to_string(i - 1)));
        } else {
            all.push_back(a_dose(label));
        }
    }
    return all;
}

std::string label(int i) {
    return "e" + std::to_string(i);
}

// Enough for more than forty calls with one delivery per bundle: half of the entries are corrected once they
// arrived, one is taken back.
constexpr int home_entries = 24;

std::vector<logbook::Arrival> corrections() {
    const auto all = records(home_entries);
    std::vector<logbook::Arrival> arrivals;
    for (int i = 0; i < home_entries; i += 2) {
        entry::Submission corrected = all[static_cast<std::size_t>(i)];
        corrected.entry->note = "checked again";
        arrivals.push_back(arrival(amended(corrected, "2026-10-14T09:00")));
    }
    for (int i = 1; i < home_entries; i += 4)
        arrivals.push_back(arrival(a_retraction(label(i), "2026-10-14T10:00"), {}));
    return arrivals;
}

std::vector<logbook::Arrival> arrivals(const std::vector<entry::Submission>& submissions) {
    std::vector<logbook::Arrival> all;
    for (const entry::Submission& one : submissions)
        all.push_back(arrival(one));
    return all;
}

void expect_all_arrived(World& world) {
    EXPECT_EQ(world.queue(), "0 waiting, " + std::to_string(home_entries) + " confirmed, 0 set aside");
    for (int i = 0; i < home_entries; ++i)
        world.expect_arrived(label(i));
    EXPECT_EQ(world.clinic.count("MedicationAdministration") + world.clinic.count("Observation"),
              static_cast<std::size_t>(home_entries));
    EXPECT_EQ(world.clinic.count("Provenance"), 42u) << "one for each revision that was sent";
}

// Sends all records, then all corrections; `disturb` is called before each answer.
void live_through(
    World& world, const std::function<void(World&)>& disturb = [](World&) {}) {
    const auto settle_down = [&] {
        for (int steps = 0; steps < 1000 && (world.line.waiting || world.retry.span); ++steps) {
            disturb(world);
            if (!world.answer() && world.retry.span) world.retry.ring(world.clock);
        }
    };
    world.log.accept(arrivals(records(home_entries)));
    world.start();
    settle_down();
    world.log.accept(corrections());
    world.loop().request_pass();
    settle_down();
}

TEST(SyncLoopTest, ABacklogCrossesInAFewRequests) {
    World world;
    world.log.accept(arrivals(records(120)));
    world.start();
    world.settle_down();
    EXPECT_EQ(world.queue(), "0 waiting, 120 confirmed, 0 set aside");
    for (int i = 0; i < 120; ++i)
        world.expect_arrived(label(i));
    EXPECT_EQ(world.line.calls, 4) << "what the server can do; 50, 50 and 20";
    EXPECT_EQ(world.line.rests, 1);
    EXPECT_FALSE(world.loop().is_running());
    EXPECT_EQ(world.outbox.state().value().pass_confirmed, 120);
}

TEST(SyncLoopTest, UndisturbedHomeNeedsMoreThanFortyCalls) {
    World world(1);
    live_through(world);
    expect_all_arrived(world);
    EXPECT_GE(world.line.calls, 40);
}

class FaultAtEveryCall : public testing::TestWithParam<Fault> {};

TEST_P(FaultAtEveryCall, EveryEntryEndsAsExactlyOneResource) {
    for (int n = 1; n <= 40; ++n) {
        SCOPED_TRACE("the fault is at call " + std::to_string(n));
        World world(1);
        world.line.fault_at = n;
        world.line.fault = GetParam();
        live_through(world);
        expect_all_arrived(world);
        EXPECT_GT(world.line.calls, n);
        if (HasFailure()) return;
    }
}

TEST_P(FaultAtEveryCall, BundlesEndAsExactlyOneResourcePerEntryToo) {
    for (int n = 1; n <= 8; ++n) {
        SCOPED_TRACE("the fault is at call " + std::to_string(n));
        World world(8);
        world.line.fault_at = n;
        world.line.fault = GetParam();
        live_through(world);
        expect_all_arrived(world);
        if (HasFailure()) return;
    }
}

INSTANTIATE_TEST_SUITE_P(SyncLoopTest, FaultAtEveryCall,
                         testing::Values(Fault::not_reached, Fault::answer_lost, Fault::server_error),
                         [](const auto& kind) {
                             return kind.param == Fault::not_reached   ? "NotReached"
                                    : kind.param == Fault::answer_lost ? "AnswerLost"
                                                                       : "ServerError";
                         });

TEST(SyncLoopTest, KilledBeforeOrAfterAnyRequestEveryEntryEndsAsExactlyOneResource) {
    for (const bool arrives : {false, true}) {
        for (int n = 1; n <= 11; ++n) {
            SCOPED_TRACE("killed at call " + std::to_string(n) +
                         (arrives ? ", which arrives" : ", which is lost"));
            World world(4);
            bool killed = false;
            live_through(world, [&](World& now) {
                if (killed || now.line.calls != n || !now.line.waiting) return;
                killed = true;
                if (arrives) now.clinic.answer(now.line.under_way);
                now.kill_and_start();
                // What the first request of a pass was to carry waits for the next pass.
                if (!now.loop().is_running()) now.loop().request_pass();
            });
            EXPECT_TRUE(killed);
            expect_all_arrived(world);
            if (HasFailure()) return;
        }
    }
}

TEST(SyncLoopTest, EntryAmendedWhileItIsUnderWayArrivesAmended) {
    World world;
    world.log.accept(a_weight("w1", "18.4"));
    world.start();
    world.log.accept(amended(a_weight("w1", "18.6"), "2026-10-12T09:00"));
    world.settle_down();
    EXPECT_EQ(world.log.delivery("w1"), "confirmed for 2");
    world.expect_arrived("w1");
}

entry::Submission of_rowan(const std::string& label) {
    entry::Submission weight = a_weight(label);
    weight.entry->person = "rowan";
    return weight;
}

// More than a bundle of the unknown person's entries stands in front of the others.
TEST(SyncLoopTest, PersonWithoutAPatientWaitsWhileTheOthersAreSent) {
    const std::string numbers = "https://clinic.example/numbers";
    World world(4);
    world.patients = {{"juniper", numbers, "T-1"}, {"rowan", numbers, "T-2"}};
    world.clinic.take_up(numbers, "T-1");
    for (int i = 0; i < 10; ++i)
        world.log.accept(of_rowan("r" + std::to_string(i)));
    for (int i = 0; i < 6; ++i)
        world.log.accept(a_weight("w" + std::to_string(i)));
    world.start();
    world.settle_down();
    EXPECT_FALSE(world.loop().is_running());
    EXPECT_EQ(world.line.calls, 5) << "what the server can do, two searches and two bundles";
    EXPECT_EQ(world.queue(), "10 waiting, 6 confirmed, 0 set aside");
    EXPECT_EQ(world.clinic.count("Observation"), 6u);
    EXPECT_EQ(world.log.record("r0").deliveries.at(0).attempts, 0) << "it was not even taken out";
    const logbook::ClinicState state = world.outbox.state().value();
    EXPECT_GE(state.pass_ended, state.pass_started);
    EXPECT_THAT(state.words, HasSubstr("nothing is sent for 'rowan'"));
    EXPECT_EQ(world.events.lines.back(), "persons_left_out clinic=north number=1");

    const std::string rowan_there = world.clinic.take_up(numbers, "T-2");
    world.loop().request_pass();
    world.settle_down();
    EXPECT_EQ(world.queue(), "0 waiting, 16 confirmed, 0 set aside");
    for (int i = 0; i < 10; ++i) {
        EXPECT_EQ(text_at(world.clinic.held("r" + std::to_string(i)).at(0).text, "subject/reference"),
                  rowan_there);
    }
    EXPECT_EQ(world.outbox.state().value().words, "everything that waited was sent");
}

TEST(SyncLoopTest, ClosedEntryIsNotSentAndALaterOneStillOverwritesNobody) {
    World world;
    const entry::Submission record = a_weight("w1", "18.4");
    world.log.accept(record);
    world.start();
    world.settle_down();
    world.clinic.edit("w1", "18.4", "18.3");
    world.log.accept(amended(a_weight("w1", "18.6"), "2026-10-12T09:00"));
    world.loop().request_pass();
    world.settle_down();
    ASSERT_EQ(world.log.delivery("w1"), "set_aside for 2");
    ASSERT_TRUE(
        world.log.outbox().close("north", id_of("w1"), "tove", "18.3 is right", world.clock.now()).value());
    const int calls = world.line.calls;
    world.loop().request_pass();
    world.settle_down();
    EXPECT_EQ(world.line.calls, calls);
    EXPECT_EQ(world.log.delivery("w1"), "closed for 2");
    world.log.accept(amended(a_weight("w1", "18.2"), "2026-10-12T10:00"));
    world.loop().request_pass();
    world.settle_down();
    EXPECT_GT(world.line.calls, calls);
    EXPECT_EQ(world.log.delivery("w1"), "set_aside for 3");
    EXPECT_THAT(world.clinic.held("w1").at(0).text, HasSubstr("18.3"));
}

TEST(SyncLoopTest, MissedNightIsCaughtUpAtTheStart) {
    World world;
    world.log.accept(a_weight("w1"));
    world.start();
    EXPECT_TRUE(world.loop().is_running());
    world.settle_down();
    world.expect_arrived("w1");
}

TEST(SyncLoopTest, NightThatWasDoneIsNotDoneAgainButOneCutShortIs) {
    World world;
    logbook::ClinicState state;
    state.pass_started = world.clock.time - 1h;
    state.pass_ended = world.clock.time - 1min;
    ASSERT_TRUE(world.outbox.settle({}, state).has_value());
    EXPECT_FALSE(world.start().is_running());
    state.pass_ended = state.pass_started - 1h;  // Of the pass before.
    ASSERT_TRUE(world.outbox.settle({}, state).has_value());
    world.start();
    world.settle_down();
    EXPECT_THAT(world.events.lines, testing::ElementsAre("pass_started clinic=north",
                                                         testing::StartsWith("pass_ended clinic=north")));
}

// A clock that was years ahead dated the last pass; set right, it must not keep the hub silent for years.
TEST(SyncLoopTest, PassThatEndedInTheFutureDoesNotCount) {
    World world;
    logbook::ClinicState state;
    state.pass_started = world.clock.time + 90'000h;
    state.pass_ended = world.clock.time + 90'001h;
    ASSERT_TRUE(world.outbox.settle({}, state).has_value());
    world.start();
    EXPECT_THAT(world.events.lines, Contains("pass_started clinic=north"));
}

TEST(SyncLoopTest, PassStartsInTheNightsWindowWithoutLongSleeps) {
    World world;
    world.start();
    world.settle_down();
    world.log.accept(a_weight("w1"));
    for (int steps = 0; steps < 200 && !world.loop().is_running(); ++steps) {
        ASSERT_LE(world.window.span.value(), 15min) << "a clock that is set has to be noticed";
        world.window.ring(world.clock);
    }
    const std::string local = to_text(Zone::find("Europe/Dublin")->at(world.clock.time));
    EXPECT_GE(local, "2026-11-03T01:00:00");
    EXPECT_LT(local, "2026-11-03T05:00:00");
    world.settle_down();
    world.expect_arrived("w1");
    EXPECT_TRUE(world.window.span.has_value()) << "the next night is armed";
}

TEST(SyncLoopTest, RequestOfAPersonStartsAPassOrEndsItsWait) {
    World world;
    world.start();
    world.settle_down();
    world.log.accept(a_weight("w1"));
    world.line.fault_at = 2;
    world.line.fault = Fault::not_reached;
    world.loop().request_pass();
    world.answer();
    ASSERT_TRUE(world.retry.span.has_value());
    EXPECT_EQ(world.log.delivery("w1"), "waiting for 1");
    world.loop().request_pass();
    EXPECT_FALSE(world.retry.span.has_value());
    world.loop().request_pass();  // While a request is under way it changes nothing.
    world.answer();
    EXPECT_EQ(world.log.delivery("w1"), "confirmed for 1");
    EXPECT_EQ(world.line.calls, 3);
}

// Who asks again and again would otherwise wait for ever.
TEST(SyncLoopTest, RequestOfAPersonDoesNotBeginTheQuietTimeAnew) {
    World world;
    logbook::ClinicState state;
    state.unguarded = true;
    ASSERT_TRUE(world.log.outbox().settle("north", {}, state, world.clock.now()).has_value());
    world.log.accept(a_weight("w1"));
    world.line.fault_at = 2;
    world.line.fault = Fault::answer_lost;
    world.start();
    while (world.answer()) {
    }
    world.retry.ring(world.clock);  // After the failure; from here on it waits for what may still arrive.
    while (world.answer()) {
    }
    ASSERT_EQ(world.retry.span, sync::Policy{}.quiet);
    const int calls = world.line.calls;
    world.loop().request_pass();
    EXPECT_EQ(world.line.calls, calls);
    EXPECT_EQ(world.retry.span, sync::Policy{}.quiet) << "as it was";
    world.settle_down();
    world.expect_arrived("w1");
    EXPECT_FALSE(world.outbox.state().value().unguarded);
}

TEST(SyncLoopTest, StoppedLoopIgnoresALateAnswer) {
    World world;
    world.log.accept(a_weight("w1"));
    world.start();
    world.answer();
    world.loop().stop();
    world.answer();
    EXPECT_EQ(world.log.delivery("w1"), "under_way for 1");
    EXPECT_FALSE(world.window.span.has_value());
    EXPECT_FALSE(world.retry.span.has_value());
    world.kill_and_start();
    world.settle_down();
    world.expect_arrived("w1");
}

TEST(SyncLoopTest, DiskThatFailsIsReportedAndNothingMoreIsSent) {
    World taking;
    taking.log.accept(a_weight("w1"));
    taking.outbox.take_fails = true;
    taking.start();
    taking.answer();
    ASSERT_THAT(taking.failures, testing::SizeIs(1));
    EXPECT_EQ(taking.failures[0].code, Errc::storage);
    EXPECT_EQ(taking.line.calls, 1);
}

TEST(SyncLoopTest, FullDiskHoldsUpThePassUntilThereIsRoomAndNothingIsSentMeanwhile) {
    World world(1);
    world.log.accept(a_weight("w1"));
    world.log.accept(a_weight("w2"));
    world.start();
    world.answer();
    world.outbox.settle_fails = true;
    world.answer();
    for (int minutes = 0; minutes < 5; ++minutes) {
        EXPECT_EQ(world.line.calls, 2);
        EXPECT_EQ(world.events.lines.back(), "disk_full what=outbox clinic=north");
        ASSERT_EQ(world.retry.span, 1min);
        world.retry.ring(world.clock);
    }
    EXPECT_THAT(world.failures, testing::IsEmpty());
    EXPECT_EQ(world.queue(), "2 waiting, 0 confirmed, 0 set aside");
    world.outbox.settle_fails = false;
    world.loop().request_pass();
    EXPECT_EQ(world.queue(), "1 waiting, 1 confirmed, 0 set aside") << "who has made room need not wait";
    world.settle_down();
    EXPECT_EQ(world.queue(), "0 waiting, 2 confirmed, 0 set aside");
    world.expect_arrived("w1");
    world.expect_arrived("w2");
}

// Whether a pass stopped used to be read from its words.
TEST(SyncLoopTest, ANightThatWasTooShortIsNoGoodPass) {
    World world;
    world.start();
    world.settle_down();
    world.log.accept(a_weight("w1"));
    world.line.fault = Fault::not_reached;
    world.line.fault_at = world.line.calls + 1;
    for (int steps = 0; steps < 200 && !world.loop().is_running(); ++steps)
        world.window.ring(world.clock);
    const auto night = world.events.lines.size();
    while (world.loop().is_running()) {
        world.line.fault_at = world.line.calls + 1;
        if (world.line.waiting) {
            std::exchange(world.line.waiting, nullptr)();
        } else {
            world.retry.ring(world.clock);
        }
    }
    EXPECT_EQ(world.events.lines.back(), "pass_out_of_time clinic=north confirmed=0 set_aside=0");
    EXPECT_GT(world.events.lines.size(), night);
    EXPECT_EQ(world.loop().result(), PassResult::out_of_time);
    EXPECT_EQ(world.loop().passes().at(PassResult::out_of_time), 1);
    EXPECT_EQ(world.loop().passes().at(PassResult::all_sent), 1);
    world.start();
    EXPECT_EQ(world.loop().result(), PassResult::out_of_time) << "also after a restart";
    EXPECT_EQ(world.loop().passes().at(PassResult::out_of_time), 0);
}

TEST(SyncLoopTest, EventsSayWhatHappenedAndNothingOfTheEntries) {
    World world;
    world.log.accept(a_weight("w1"));
    world.line.fault_at = 2;
    world.line.fault = Fault::server_error;
    world.start();
    world.settle_down();
    EXPECT_THAT(world.events.lines,
                testing::ElementsAre(
                    "pass_started clinic=north", "clinic_answered_badly clinic=north outcome=http_500",
                    "pass_waits clinic=north seconds=2", testing::StartsWith("pass_ended clinic=north")));
}

}  // namespace

}  // namespace nightferry::sync
