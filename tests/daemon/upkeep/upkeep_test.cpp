// Summaries and flags kept up to date in a real logbook, for the demo's fortnight.
#include "daemon/upkeep/upkeep.hpp"

#include "daemon/logbook/outbox.hpp"
#include "daemon/service/clinic_outbox.hpp"
#include "tests/daemon/care/fortnight.hpp"

namespace nightferry::upkeep {
namespace {

using namespace std::chrono_literals;
using namespace test;
using care::FlagEventKind;
using entry::Count;
using entry::Summary;

class HandClock final : public Clock {
 public:
    Instant now() const override { return now_; }
    void set(std::string_view text) { now_ = instant(text); }

 private:
    Instant now_ = instant("2026-10-12T07:30Z");
};

std::vector<care::Plan> fortnight_plan() {
    care::Plan plan;
    plan.person = "juniper";
    plan.regimen = fortnight();
    plan.regimen.end = fortnight_to;
    return {plan};
}

class UpkeepTest : public testing::Test {
 protected:
    // Hands in every revision of the demo that was written down by then.
    void hand_in_until(std::string_view text) {
        clock_.set(text);
        std::vector<logbook::Arrival> arrivals;
        for (const care::Revisions& revisions : entries_) {
            for (const entry::Version& one : revisions) {
                if (one.recorded().at > clock_.now()) continue;
                arrivals.push_back({one.submission, "local", {"nowhere"}});
            }
        }
        ASSERT_TRUE(book_.accept(arrivals, clock_.now()));
    }
    // The same, and catches up as in a pass.
    void live_until(std::string_view text) {
        hand_in_until(text);
        catch_up();
    }
    void catch_up() { ASSERT_TRUE(upkeep_.catch_up(Upkeep::Summaries::made)); }

    // The summary of a day with all its versions; empty when there is none.
    std::vector<entry::Version> day(std::string_view first) {
        for (const care::Revisions& revisions : book_.history("juniper").value().entries) {
            const auto* summary = std::get_if<Summary>(&revisions.back().content.what);
            if (summary != nullptr && summary->of == entry::SummaryOf::day &&
                to_text(summary->first) == first)
                return revisions;
        }
        return {};
    }
    std::int64_t count(std::string_view first, Count which) {
        const auto versions = day(first);
        return versions.empty() ? -1 : std::get<Summary>(versions.back().content.what).count(which);
    }

    // "raised cleared": what became of flags of a kind.
    std::string became_of(const std::string& kind) {
        std::string text;
        for (const auto& [key, events] : upkeep_.history("juniper").value()) {
            if (!key.starts_with(kind + ":")) continue;
            for (const care::FlagEvent& event : events)
                text += (text.empty() ? "" : " ") + std::string(care::word_for(event.what));
        }
        return text;
    }

    TemporaryFolder folder_;
    HandClock clock_;
    std::unique_ptr<logbook::Database> db_{
        std::move(logbook::open(logbook::file_in(folder_.path()), instant("2026-10-12T07:00Z")).value())};
    logbook::Logbook book_{*db_};
    logbook::FlagStore flags_{*db_};
    entry::Household household_ = household();
    std::vector<care::Plan> plans_ = fortnight_plan();
    Upkeep upkeep_{household_, plans_,
                   book_,      flags_,
                   clock_,     [](const std::string&) { return std::vector<std::string>{"nowhere"}; }};
    std::vector<care::Revisions> entries_ = fortnight_entries();
};

TEST_F(UpkeepTest, ClosedDayIsSummarizedAndWaitsForTheClinic) {
    live_until("2026-10-12T22:59Z");
    EXPECT_TRUE(day("2026-10-12").empty());
    live_until("2026-10-12T23:00:01Z");
    ASSERT_EQ(day("2026-10-12").size(), 1U);
    EXPECT_EQ(count("2026-10-12", Count::filled), 2);
    const auto record = book_.find(day("2026-10-12").front().content.id).value();
    ASSERT_TRUE(record && record->deliveries.size() == 1);
    EXPECT_EQ(record->deliveries[0].clinic, "nowhere");
    EXPECT_EQ(record->deliveries[0].state, logbook::DeliveryState::waiting);
}

TEST_F(UpkeepTest, LateEntryMakesANewVersionOfTheSameSummary) {
    live_until("2026-11-01T08:59Z");
    EXPECT_EQ(count("2026-10-30", Count::no_record), 1);
    ASSERT_EQ(day("2026-10-30").size(), 1U);
    live_until("2026-11-01T09:03Z");
    EXPECT_EQ(count("2026-10-30", Count::no_record), 0);
    ASSERT_EQ(day("2026-10-30").size(), 2U);
    EXPECT_EQ(day("2026-10-30").back().action(), entry::Action::amend);
}

TEST_F(UpkeepTest, NothingNewMakesNothing) {
    live_until("2026-11-03T12:00Z");
    const auto additions = book_.additions();
    catch_up();
    clock_.set("2026-11-20T12:00Z");
    catch_up();
    EXPECT_EQ(book_.additions(), additions);
}

TEST_F(UpkeepTest, HandingInAgainMakesNothing) {
    live_until("2026-11-03T12:00Z");
    const auto additions = book_.additions();
    live_until("2026-11-03T12:05Z");
    EXPECT_EQ(book_.additions(), additions);
}

TEST_F(UpkeepTest, WholeFortnightGivesADayEachAndThreeWeeks) {
    live_until("2026-11-03T12:00Z");
    std::int64_t days = 0;
    std::int64_t weeks = 0;
    for (const care::Revisions& revisions : book_.history("juniper").value().entries) {
        const auto* summary = std::get_if<Summary>(&revisions.back().content.what);
        if (summary != nullptr) ++(summary->of == entry::SummaryOf::day ? days : weeks);
    }
    EXPECT_EQ(days, 21);
    EXPECT_EQ(weeks, 3);
    EXPECT_EQ(count("2026-10-28", Count::extra), 1);
    EXPECT_EQ(count("2026-10-16", Count::held), 1);
}

TEST_F(UpkeepTest, SummaryStaysInEffectWhenTheClockIsPutBack) {
    live_until("2026-11-01T08:59Z");
    live_until("2026-11-01T09:03Z");
    // The clock of a hub without a battery, after a restart.
    clock_.set("2026-10-31T23:30Z");
    entry::Submission retraction;
    for (const care::Revisions& revisions : entries_) {
        if (revisions.front().content.time.at == instant("2026-10-30T08:05Z"))
            retraction = {entry::Action::retract,
                          revisions.front().content.id,
                          Moment{instant("2026-11-01T08:00Z"), {}},
                          "tove",
                          {},
                          {}};
    }
    ASSERT_TRUE(
        book_.accept(std::vector<logbook::Arrival>{{retraction, "local", {"nowhere"}}}, clock_.now()));
    clock_.set("2026-11-01T08:30Z");
    catch_up();
    const auto record = book_.find(day("2026-10-30").front().content.id).value();
    ASSERT_TRUE(record);
    // What was accepted before the clock was put back stays known.
    EXPECT_EQ(std::get<Summary>(record->current.content.what).count(Count::given), 1);
}

TEST_F(UpkeepTest, NobodyElseChangesASummary) {
    live_until("2026-10-13T12:00Z");
    const EntryId id = day("2026-10-12").front().content.id;
    const entry::Submission retraction{entry::Action::retract, id, Moment{clock_.now(), {}}, "tove", {}, {}};
    const auto verdicts =
        book_.accept(std::vector<logbook::Arrival>{{retraction, "local", {"nowhere"}}}, clock_.now()).value();
    EXPECT_EQ(verdicts[0].kind, logbook::Verdict::Kind::conflict);
    EXPECT_NE(verdicts[0].words.find("makes its summaries itself"), std::string::npos);
}

TEST_F(UpkeepTest, FlagsAreRaisedOnceAndClearedByLaterEntries) {
    live_until("2026-10-17T19:30Z");
    EXPECT_EQ(became_of("possible_double"), "raised");
    live_until("2026-10-17T20:00Z");
    EXPECT_EQ(became_of("possible_double"), "raised");
    live_until("2026-10-17T20:10Z");
    EXPECT_EQ(became_of("possible_double"), "raised cleared");
}

TEST_F(UpkeepTest, PersonSettlesAFlag) {
    live_until("2026-10-19T07:00Z");
    std::string missed;
    for (const auto& [key, events] : upkeep_.history("juniper").value()) {
        if (key.starts_with("missed_dose:")) missed = key;
    }
    ASSERT_NE(missed, "");
    EXPECT_TRUE(upkeep_.settle("juniper", missed, "marlow", "Rang the clinic").value());
    EXPECT_FALSE(upkeep_.settle("juniper", missed, "marlow", "Again").value());
    EXPECT_FALSE(upkeep_.settle("juniper", "no_record:nothing", "marlow", "What?").value());
    live_until("2026-11-03T12:00Z");
    EXPECT_EQ(became_of("missed_dose"), "raised settled");
    const auto events = upkeep_.history("juniper").value().at(missed);
    EXPECT_EQ(events.back().by, "marlow");
    EXPECT_EQ(events.back().words, "Rang the clinic");
}

TEST_F(UpkeepTest, NextChangeIsALateLimitOrMidnight) {
    live_until("2026-10-12T07:30Z");
    EXPECT_EQ(upkeep_.next_change(), instant("2026-10-12T23:00Z"));
    // The evening's dose is not written down.
    clock_.set("2026-10-13T23:30Z");
    catch_up();
    EXPECT_EQ(upkeep_.next_change(), instant("2026-10-14T01:00:01Z"));
}

TEST_F(UpkeepTest, WithoutAPassThereAreFlagsAndNoSummaries) {
    hand_in_until("2026-10-17T19:30Z");
    ASSERT_TRUE(upkeep_.catch_up());
    EXPECT_EQ(became_of("possible_double"), "raised");
    EXPECT_TRUE(day("2026-10-12").empty());
    catch_up();
    EXPECT_EQ(day("2026-10-12").size(), 1U) << "the next pass makes them, though nothing was added since";
}

TEST_F(UpkeepTest, NothingIsMadeWhileTheClockIsInDoubt) {
    hand_in_until("2026-10-17T19:30Z");
    upkeep_.doubt_clock("north", true);
    catch_up();
    EXPECT_TRUE(upkeep_.is_clock_in_doubt());
    EXPECT_TRUE(day("2026-10-12").empty());
    EXPECT_EQ(became_of("possible_double"), "");
    EXPECT_EQ(upkeep_.next_change(), instant("2026-10-17T19:45Z")) << "it looks again";
}

TEST_F(UpkeepTest, WhatWasLeftIsMadeOnceTheClockIsTrusted) {
    hand_in_until("2026-10-17T19:30Z");
    upkeep_.doubt_clock("north", true);
    catch_up();
    upkeep_.doubt_clock("north", false);
    catch_up();
    EXPECT_FALSE(upkeep_.is_clock_in_doubt());
    EXPECT_EQ(day("2026-10-12").size(), 1U);
    EXPECT_EQ(became_of("possible_double"), "raised");
}

TEST_F(UpkeepTest, OneClinicThatAgreesDoesNotOverruleAnother) {
    hand_in_until("2026-10-13T12:00Z");
    upkeep_.doubt_clock("north", true);
    upkeep_.doubt_clock("south", false);
    catch_up();
    EXPECT_TRUE(day("2026-10-12").empty());
}

// A clock that was years ahead would have closed days that are not over.
TEST_F(UpkeepTest, WrongClockClosesNoDay) {
    hand_in_until("2026-10-12T20:00Z");
    clock_.set("2029-01-01T00:00Z");
    upkeep_.doubt_clock("north", true);
    catch_up();
    clock_.set("2026-10-12T20:05Z");
    upkeep_.doubt_clock("north", false);
    catch_up();
    EXPECT_TRUE(day("2026-10-12").empty());
    live_until("2026-10-12T23:00:01Z");
    EXPECT_EQ(day("2026-10-12").size(), 1U);
}

TEST_F(UpkeepTest, ClinicTakesSummariesWithWhatTheyCountUnlessItDoubtsTheClock) {
    hand_in_until("2026-10-13T12:00Z");
    logbook::Outbox outbox(*db_);
    service::ClinicOutbox nowhere(outbox, upkeep_, "nowhere", clock_);
    const auto summaries_taken = [&](bool clock_in_doubt) {
        const auto parcels = nowhere.take({.limit = 100}, clock_in_doubt).value();
        EXPECT_TRUE(clock_in_doubt == false || !parcels.empty()) << "entries go out all the same";
        return std::ranges::count_if(parcels, [](const logbook::Parcel& one) {
            return one.wanted.content.kind() == entry::Kind::summary;
        });
    };
    EXPECT_EQ(summaries_taken(true), 0);
    EXPECT_EQ(summaries_taken(false), 1);
}

TEST_F(UpkeepTest, ClinicThatMeansNoClearPatientIsFlaggedUntilThatIsPutRight) {
    live_until("2026-10-13T12:00Z");
    logbook::Outbox outbox(*db_);
    PatientBook patients(outbox, [](const std::string&) { return std::vector<std::string>{"nowhere"}; });
    upkeep_.watch_patients(patients);
    const auto say = [&](const std::string& clinic, const std::string& why) {
        logbook::ClinicState state;
        state.patients["juniper"] = {"", "Patient/p1", why, why.empty() ? Instant{} : clock_.now()};
        ASSERT_TRUE(outbox.settle(clinic, {}, state, clock_.now()));
        catch_up();
    };
    say("elsewhere", "it has another one");
    EXPECT_EQ(became_of("patient_record"), "") << "a clinic that may not have entries of the person";
    say("nowhere", "the clinic deleted the patient record 'Patient/p1'");
    say("nowhere", "the clinic deleted the patient record 'Patient/p1'");
    EXPECT_EQ(became_of("patient_record"), "raised");
    const auto review = upkeep_.review(plans_[0], {clock_.now(), clock_.now()}, clock_.now()).value();
    const auto flag = std::ranges::find(review.flags, care::FlagKind::patient_record, &care::Flag::kind);
    ASSERT_NE(flag, review.flags.end());
    EXPECT_EQ(flag->reason,
              "Nothing that is recorded here reaches nowhere for now: the clinic deleted the patient record "
              "'Patient/p1'. It is kept, and sent once that is put right.");
    EXPECT_EQ(flag->level, care::Level::contact);
    say("nowhere", "");
    EXPECT_EQ(became_of("patient_record"), "raised cleared");
}

TEST_F(UpkeepTest, HubWithoutARegimenComputesNothing) {
    const std::vector<care::Plan> none;
    Upkeep idle(household_, none, book_, flags_, clock_,
                [](const std::string&) { return std::vector<std::string>(); });
    EXPECT_TRUE(idle.catch_up(Upkeep::Summaries::made));
    EXPECT_EQ(idle.next_change(), std::nullopt);
    EXPECT_EQ(book_.additions(), 0);
}

}  // namespace
}  // namespace nightferry::upkeep
