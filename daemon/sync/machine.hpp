// Decides every step of sending to one clinic. Pure: an event goes in, the next action comes out; SyncLoop
// performs it. The same machine runs in production and in a simulated world.
//
//   resting --PassRequested--> [ask what the server can do] --> find patients --> [read orders] --> [read
//   back]
//           --> taking
//      taking --Taken--> working on jobs --> settling --Settled--> more jobs, or taking again
//      settling, when nothing is left, the window is over or a person has to act --> resting
//      settling, after a failure --> waiting --Rang--> as from resting
//
// Invariants:
//   (1) Every parcel taken is settled before the next take: confirmed, again, or set aside.
//   (2) Nothing is confirmed without the clinic's answer for that very resource.
//   (3) A resource that anyone but us changed at the clinic is never overwritten: what is replaced was looked
//       at just before, and is replaced under the version seen, where the server checks versions.
//   (4) One refused parcel never keeps another from being sent: a refused bundle is halved until the culprit
//       stands alone, and what is refused in a bundle is tried once by itself.
//   (5) While a clinic fails, reads and one delivery at most go out per backoff step, the delivery in each
//   way that
//       is left to try.
//   (6) Nothing is sent for a person whose patient was not found in this pass, or is another one than before,
//       or was replaced; it keeps waiting and holds up nobody else.
//   (7) Whatever may have reached the clinic without an answer is looked up before it is sent again; where a
//       late request could do harm, not before it can no longer come.
//   (8) Nothing is written before the clinic was read back since it was last away, or silent for longer than
//       Policy::silence_max. A connection that merely broke begins nothing anew: what was answered stays
//       answered, so that a line that bears few requests at a time is got through in many tries.
#pragma once

#include <chrono>
#include <deque>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "daemon/core/ports.hpp"
#include "daemon/logbook/delivery.hpp"
#include "daemon/mapping/mapper.hpp"
#include "daemon/sync/events.hpp"
#include "daemon/sync/fate.hpp"
#include "daemon/sync/jobs.hpp"
#include "daemon/sync/order_walk.hpp"
#include "daemon/sync/patient_answer.hpp"
#include "daemon/sync/policy.hpp"
#include "daemon/sync/ports.hpp"
#include "daemon/sync/presence.hpp"
#include "daemon/sync/read_back.hpp"

namespace nightferry::sync {

// Where the clinic is asked for what it has ordered, and what is kept of that from earlier passes.
struct OrderReading {
    std::string base;                             // Its FHIR base address.
    const entry::Household* household = nullptr;  // Outlives the machine.
    // Of each person to ask for, the ids of the orders that were active when last read;
    std::map<std::string, std::vector<std::string>> active;
    // and those by which doses were or are given.
    std::map<std::string, std::vector<mapping::OrderInForce>> in_force;
};

using logbook::PassResult;

class SyncMachine {
 public:
    // `state` is what the outbox remembers of earlier passes.
    SyncMachine(Policy policy, mapping::Mapper mapper, std::vector<PatientToFind> patients,
                logbook::ClinicState state, Random& random);

    // Before the first pass: has it read orders, too. It never keeps anything else from being sent.
    void read_orders_of(OrderReading reading);

    // The one entry point. The event has to fit the action returned before; PassRequested comes only while
    // resting or waiting.
    Action on(Event event, Instant now);

    const logbook::ClinicState& state() const { return state_; }
    bool is_resting() const { return phase_ == Phase::resting; }
    bool is_waiting() const { return phase_ == Phase::waiting; }
    // How it would make requests now.
    const JobBuilder& builder() const { return builder_; }
    // Until nothing that was sent before can still arrive. Asking for a pass would begin it anew.
    bool is_waiting_for_quiet() const { return is_waiting() && waits_for_quiet_; }
    // Of the newest pass that ended, also one of an earlier process; nothing when there was none.
    const std::optional<PassResult>& result() const { return state_.pass_result; }
    // By the newest pass that looked, also one of an earlier process.
    std::size_t persons_left_out() const;
    const Manner& manner() const { return builder_.manner(); }
    // Whether the hub's clock differs from the clinic's by more than the policy allows.
    bool is_clock_in_doubt() const { return std::chrono::abs(state_.skew) > policy_.skew_max; }

 private:
    enum class Phase {
        resting,
        asking,
        finding_patients,
        reading_orders,
        keeping_orders,
        recalling,
        taking,
        working,
        settling,
        waiting
    };

    // machine.cpp: the course of a pass.
    Action start(const PassRequested& event, Instant now);
    Action go_on(Instant now);
    Action take_more(Instant now);
    Action on_taken(std::vector<logbook::Parcel> parcels, Instant now);
    Action next_job(Instant now);
    Action settle();
    Action on_settled(Instant now);
    Action wait(std::chrono::microseconds span, Instant now);
    // Puts into the state what has to be known once this was sent; whether it was not there yet.
    bool note_before_sending(const WriteJob& write);
    Action stop_pass(std::string words, Instant now, bool may_have_arrived = false, bool to_the_back = false);
    Action finish(PassResult result, std::string words, Instant now);
    std::string summary() const;

    // machine_failures.cpp: what is done when the clinic does not take something.
    Action retry_later(const Reply& reply, Instant now);
    // Counts a failure and has the machine wait once the settlements are stored.
    Action wait_for_the_clinic(std::string words, Instant now);
    void back_off(std::string words, std::chrono::microseconds at_least, Instant now);
    // Gives every parcel of the current and later jobs back to the outbox.
    void give_back(bool current_may_have_arrived, bool to_the_back, const std::string& words);
    void split(WriteJob job);
    // Something was written: failures before it no longer count.
    void note_progress();
    // Whether more was read back than ever since something was written last.
    bool is_further_read_back();
    void note_too_much(std::size_t loads);
    void note_enough(std::size_t loads);
    void note_culprit();
    void note_date(const Reply& reply, Instant now);
    void note_presence(const Reply& reply, Instant now);

    // machine_statement.cpp: what the server can do.
    Action ask_for_statement(Instant now);
    Action on_statement(const Reply& reply, Instant now);

    // machine_patients.cpp: which patients it means.
    Action find_next_patient(Instant now);
    Action on_patient_reply(const Reply& reply, Instant now);
    bool means_the_same_patient(const PatientToFind& patient, const std::string& reference);
    // In this pass, the entries of the person whose turn it is go to this patient, or nowhere.
    Action take_patient(const std::string& reference, Instant now);
    Action leave_out(const std::string& why, Instant now);
    void note_left_out(const std::string& why, Instant now);

    // machine_orders.cpp: what the clinic has ordered.
    bool has_orders_to_read() const;
    Action read_orders(Instant now);
    Action on_orders_reply(const Reply& reply, Instant now);
    Action on_orders_kept(const logbook::OrderHistory& history, Instant now);

    // machine_writes.cpp: what the answers to writes mean.
    Action on_reply(const Reply& reply, Instant now);
    Action on_not_now(const Reply& reply, Instant now);
    bool is_about_one_entry(const Job& job) const;
    bool is_about_the_bundle(const WriteJob& job, const HttpAnswer& answer) const;
    Action on_write_reply(WriteJob& job, const HttpAnswer& answer, Instant now);
    Action on_bundle_refused(WriteJob& job, const HttpAnswer& answer, Fate fate, Instant now);
    Action look_before_another_way(WriteJob& job, const HttpAnswer& answer, Instant now);
    Action on_single_refused(Load& load, const HttpAnswer& answer, Instant now);
    Action on_taken_in_only(WriteJob& job, const HttpAnswer& answer, Instant now);
    Action on_not_offered(WriteJob& job, Instant now);
    void on_load_done(WriteJob& job, Load& load, LoadAnswer& answer, Instant now);

    // machine_settling.cpp: what becomes of a delivery, once its Provenance is written too.
    void write_provenance(Carrier carrier);
    Action on_provenance_reply(ProvenanceJob& job, const HttpAnswer& answer, Instant now);
    void confirm(const Load& load, std::string words, Instant now);
    void set_aside(const logbook::Parcel& parcel, std::string words);
    logbook::Settlement& settled(const logbook::Parcel& parcel, logbook::Settlement::Fate fate,
                                 std::string words);
    void put_off(const logbook::Parcel& parcel, bool may_have_arrived, bool to_the_back, std::string words);

    // machine_looks.cpp: what the answers to looks mean.
    void look(Load load);
    Action on_lookup_reply(LookupJob& job, const HttpAnswer& answer, Instant now);
    Action on_read_reply(ReadJob& job, const HttpAnswer& answer, Instant now);
    // What may only be taken back is not there; that settles it.
    bool has_nothing_to_take_back(const Load& load, const Holding& holding);
    Action on_holding(Load& load, const Holding& holding, Instant now);
    Action write_what_is_not_there(Load load, Instant now);
    void on_gone(Load& load);
    Action wait_until_it_shows(const Load& load, const std::string& words, Instant now);
    Action look_later(Load load, const Reply& reply, Instant now);
    // What was refused in this way is written in another one, or looked at before; false when none is left.
    bool choose_another_way(Load& load, const Way& refused);
    bool try_another_way(Load& load, const Way& refused);
    void write(Load load);

    // machine_check.cpp: reading back what was confirmed.
    // Once the clinic may hold less than it did, whatever was read back is read anew.
    void trust_nothing_read_back();
    void doubt_after_silence(Instant now);
    Action check_or_take(Instant now);
    Action recall();
    Action on_recalled(std::vector<logbook::Parcel> parcels, Instant now);
    Action on_check(Load& load, const Holding& holding, Instant now);
    Action on_missing(Load& load, Instant now);
    // After a check that was not answered: whether that came so often that it is left out.
    bool passes_over_check(const Reply& reply);
    void end_walk(bool was_walking);

    const Policy policy_;
    JobBuilder builder_;
    const std::vector<PatientToFind> patients_;
    Random& random_;

    Phase phase_ = Phase::resting;
    logbook::ClinicState state_;
    std::optional<Instant> until_;
    Instant sent_;  // When the request under way was handed out, by the wall clock.

    std::optional<Instant> statement_read_;  // When the server last said what it can do.
    bool is_surprised_ = false;              // It did otherwise, so the next pass asks again.
    bool statement_known_ = false;           // It said something that could be read.
    std::vector<std::string> denied_;        // Types that this hub may not create there.
    Carrier claimed_ = Carrier::single;      // Of which the statement says that it is offered.
    int claim_tries_ = 0;                    // Again, since anything got through.
    int statement_failures_ = 0;             // In a row.
    bool reads_patients_ = true;             // As far as it says.
    std::size_t next_patient_ = 0;
    int patient_failures_ = 0;           // In a row.
    bool is_patient_news_ = false;       // The next process would not know whom the clinic means.
    std::vector<std::string> left_out_;  // Persons of whom nothing is sent; why, the state says.

    std::optional<OrderReading> orders_;
    std::size_t next_orders_ = 0;  // Whose are read next.
    std::optional<OrderWalk> order_walk_;
    bool stops_reading_orders_ = false;

    std::size_t limit_;    // Deliveries per bundle that this clinic seems to take.
    std::size_t ceiling_;  // What it surely does not take, less one.
    struct Before {
        std::size_t limit;
        std::size_t ceiling;
    };
    std::optional<Before> before_refusal_;  // To go back to when a culprit explains the refusals.
    bool probing_ = false;                  // After a failure one delivery goes first, alone.
    bool fresh_next_ = false;               // Whether the next single one is a fresh one.
    int not_offered_in_a_row_ = 0;
    int refused_in_a_row_ = 0;             // For good, on condition.
    bool has_searched_ = false;            // A search was answered, since the start.
    int search_refusals_ = 0;              // In a row.
    std::map<EntryId, int> futile_looks_;  // Since the start, for each that was looked up in vain.
    // Whether since the start, or the last request without an answer, the quiet time has gone by.
    bool quiet_kept_ = false;
    bool waits_for_quiet_ = false;
    std::chrono::microseconds waiting_span_{0};

    bool guards_again_ = false;  // With the answer to what is under way, and not before that was known.

    ReadBack read_back_;
    int furthest_ = 0;          // Step of it, since something was written last.
    Presence presence_;         // Since the read-back began.
    std::vector<Load> beside_;  // Written, and still without their Provenance.
    std::deque<Job> jobs_;      // The front one is under way.
    std::vector<logbook::Settlement> settlements_;
    std::optional<std::chrono::microseconds> wait_after_settling_;
    bool rest_after_settling_ = false;
};

}  // namespace nightferry::sync
