// Lines that bear few requests at a time: whatever a clinic's server is like, everything gets through.
#include "tests/daemon/sync/world.hpp"
#include "tests/sim/model_clinic.hpp"

namespace nightferry::sync {

namespace {

using namespace test;

// What breaks, and how.
struct Breaks {
    int at = 0;               // The request; 0: none.
    bool acts = false;        // The server carries it out all the same.
    bool everywhere = false;  // Counted over all connections rather than on each.
};

struct BrittleLine final : ClinicPort {
    BrittleLine(sim::ModelClinic& at_the_end, Breaks how) : clinic(at_the_end), breaks(how) {}

    void send(HttpRequest request, std::function<void(Reply)> done) override {
        ++calls;
        const bool is_broken = ++on_this_one == breaks.at;
        if (is_broken) on_this_one = 0;
        waiting = [this, request = std::move(request), done = std::move(done), is_broken] {
            if (!is_broken) return done(clinic.answer(request));
            if (breaks.acts) (void)clinic.answer(request);
            done(NoAnswer{NoAnswer::Reached::perhaps, "the connection broke"});
        };
    }
    void rest() override {
        if (!breaks.everywhere) on_this_one = 0;
    }

    sim::ModelClinic& clinic;
    const Breaks breaks;
    int calls = 0;
    int on_this_one = 0;
    std::function<void()> waiting;
};

// A home with a clinic of any dialect behind such a line.
class BrittleHome {
 public:
    BrittleHome(const sim::Dialect& dialect, Breaks breaks) : clinic_(dialect), line_(clinic_, breaks) {
        clinic_.enter(R"({"resourceType":"Patient","id":"p1"})");
        const std::vector<PatientToFind> patients{{"juniper", {}, {}, "Patient/p1"}};
        loop_.emplace("north", SyncMachine({}, mapper(), patients, outbox_.state().value(), random_),
                      Timetable({std::chrono::hours{1}, std::chrono::hours{5}}, *Zone::find("Europe/Dublin"),
                                "test-home"),
                      LoopPorts{line_, outbox_, clock_, random_, retry_, window_, events_},
                      [](const Error& error) { ADD_FAILURE() << error.detail; });
    }

    // Records, and then corrections of them, each sent in a pass; what has become of them in the end.
    std::string live() {
        pass({a_dose("d1"), a_bruise("b1", "d1"), a_weight("w1"), a_weight("w2"), a_dose("d2")});
        entry::Submission corrected = a_dose("d1");
        corrected.entry->note = "checked again";
        pass({amended(corrected, "2026-10-14T09:00"), a_retraction("w2", "2026-10-14T10:00")});
        return told();
    }
    int calls() const { return line_.calls; }
    const std::vector<std::string>& events() const { return events_.lines; }

 private:
    void pass(const std::vector<entry::Submission>& said) {
        std::vector<logbook::Arrival> arrivals;
        for (const entry::Submission& one : said)
            arrivals.push_back(one.entry ? arrival(one) : arrival(one, {}));
        log_.accept(arrivals);
        loop_->request_pass();
        constexpr int enough = 400;  // A whole line needs 40 at most.
        for (const int before = line_.calls; line_.calls - before < enough;) {
            if (line_.waiting) {
                std::exchange(line_.waiting, nullptr)();
            } else if (loop_->is_running()) {
                retry_.ring(clock_);
            } else {
                return;
            }
        }
        loop_->stop();
    }
    std::string told() {
        const logbook::QueueCounts counts = log_.outbox().counts("north").value();
        std::string words = std::to_string(counts.waiting) + " waiting, " + std::to_string(counts.confirmed) +
                            " confirmed, " + std::to_string(counts.set_aside) + " set aside; there:";
        for (const char* label : {"d1", "b1", "w1", "w2", "d2"}) {
            const auto type = mapping::Mapper::resource_type(log_.record(label).current.content);
            const auto there = clinic_.store().bearing(type, hub_system, id_of(label).urn());
            words += " " + std::to_string(there.size());
        }
        return words;
    }

    QuickDisk disk_;
    OpenLogbook log_;
    sim::ModelClinic clinic_;
    BrittleLine line_;
    SetClock clock_;
    HandAlarm retry_;
    HandAlarm window_;
    KeptLog events_;
    NorthOutbox outbox_{log_, clock_};
    ChosenDraws random_;
    std::optional<SyncLoop> loop_;
};

constexpr char all_there_once[] = "0 waiting, 5 confirmed, 0 set aside; there: 1 1 1 1 1";

// Those with which nothing can be settled on a whole line either.
bool can_be_asked(const sim::Dialect& dialect) {
    return dialect.does.identifier_search == sim::IdentifierSearch::honoured && !dialect.does.asynchronous;
}

class BrittleLineTest : public testing::TestWithParam<int> {};

TEST_P(BrittleLineTest, EverythingArrivesOnceThoughEachConnectionBreaksAtThisRequest) {
    for (const sim::Dialect& dialect : sim::named_dialects()) {
        if (!can_be_asked(dialect)) continue;
        for (const bool acts : {false, true}) {
            SCOPED_TRACE(dialect.name + (acts ? ", the server acts on it" : ", the server never sees it"));
            BrittleHome home(dialect, {GetParam(), acts});
            EXPECT_EQ(home.live(), all_there_once);
        }
    }
}

// At its first there would be no answer ever.
INSTANTIATE_TEST_SUITE_P(UpToTheSixth, BrittleLineTest, testing::Values(0, 2, 3, 4, 5, 6));

TEST(BrittleLineTest, ItIsToldOnceThatConnectionsBreak) {
    BrittleHome home(sim::no_conditional_create(), {3});
    home.live();
    EXPECT_EQ(std::count(home.events().begin(), home.events().end(),
                         "connections_break clinic=north answers_each=2"),
              1);
}

// No connection kept short helps with this; what was read back has to outlive the breaks.
TEST(BrittleLineTest, EverythingArrivesOnceThoughEveryThirdRequestOfAllGetsNoAnswer) {
    for (const sim::Dialect& dialect : {sim::no_conditional_create(), sim::thorough()}) {
        SCOPED_TRACE(dialect.name);
        BrittleHome home(dialect, {3, true, true});
        EXPECT_EQ(home.live(), all_there_once);
    }
}

}  // namespace

}  // namespace nightferry::sync
