// Decides every step of sending to one clinic. Pure: an event goes in, the next action comes out; SyncLoop
// performs it. The same machine runs in production and in a simulated world.
//
//   resting --PassRequested--> [find patients] --> taking --Taken--> working on jobs --> settling
//   --Settled--+
//      ^                                             ^                                                      |
//      |                                             +------------ more to send, or Rang -------------------+
//      +-- outbox empty, window over, or stopped            waiting (after a failure) --Rang--^
//
// Invariants:
//   (1) Every parcel taken is settled before the next take: confirmed, again, or set aside.
//   (2) Nothing is confirmed without the clinic's answer for that very resource.
//   (3) A resource that anyone but us changed at the clinic is never overwritten.
//   (4) One refused parcel never keeps another from being sent: a refused bundle is halved until the culprit
//       stands alone.
//   (5) While a clinic fails, at most one small request goes out per backoff step.
//   (6) Nothing is sent for a person whose patient was not found in this pass; it keeps waiting and holds up
//       nobody else.
#pragma once

#include <chrono>
#include <deque>
#include <map>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "daemon/core/http.hpp"
#include "daemon/core/ports.hpp"
#include "daemon/logbook/delivery.hpp"
#include "daemon/mapping/mapper.hpp"
#include "daemon/sync/fate.hpp"
#include "daemon/sync/jobs.hpp"
#include "daemon/sync/policy.hpp"
#include "daemon/sync/ports.hpp"

namespace nightferry::sync {

struct PassRequested {
    bool by_a_person = false;      // Then a wait that is still running is cut short.
    std::optional<Instant> until;  // The pass starts nothing new after this.
};
struct Taken {
    std::vector<logbook::Parcel> parcels;
};
struct Replied {
    Reply reply;
};
struct Settled {};
struct Rang {};
using Event = std::variant<PassRequested, Taken, Replied, Settled, Rang>;

struct Take {
    std::size_t limit = 1;
    std::vector<std::string> without;  // Persons whose entries stay where they are.
};
struct Send {
    HttpRequest request;
};
struct Settle {
    std::vector<logbook::Settlement> settlements;
    logbook::ClinicState state;
};
struct Wait {
    std::chrono::microseconds span{0};
};
struct Rest {};  // The pass is over.
using Action = std::variant<Take, Send, Settle, Wait, Rest>;

// A patient who is known to the clinic by identifier only.
struct PatientToFind {
    std::string person;
    std::string system;
    std::string value;
};

class SyncMachine {
 public:
    // `state` is what the outbox remembers of earlier passes.
    SyncMachine(Policy policy, mapping::Mapper mapper, std::vector<PatientToFind> patients,
                logbook::ClinicState state, Random& random);

    // The one entry point. The event has to fit the action returned before; PassRequested comes only while
    // resting or waiting.
    Action on(Event event, Instant now);

    const logbook::ClinicState& state() const { return state_; }
    bool is_resting() const { return phase_ == Phase::resting; }
    bool is_waiting() const { return phase_ == Phase::waiting; }
    // In this pass, or in the newest one.
    std::size_t persons_left_out() const { return left_out_.size(); }

 private:
    enum class Phase { resting, finding_patients, taking, working, settling, waiting };

    Action start(const PassRequested& event, Instant now);
    Action go_on(Instant now);
    Action find_next_patient();
    Action on_patient_reply(const Reply& reply, Instant now);
    // Sends nothing for the person that was searched for, in this pass.
    void leave_out(const std::string& why);
    Action take_more(Instant now);
    std::string summary() const;
    // Something got through: failures before it no longer count.
    void note_progress();
    Action on_taken(std::vector<logbook::Parcel> parcels, Instant now);
    Action next_job(Instant now);
    Action on_reply(const Reply& reply, Instant now);
    Action on_bundle_reply(BundleJob& job, const Reply& reply, Instant now);
    Action on_lookup_reply(LookupJob& job, const Reply& reply, Instant now);
    Action settle();
    Action on_settled(Instant now);
    Action wait(std::chrono::microseconds span, Instant now);
    Action retry_later(const Reply& reply, Instant now);
    // Counts a failure and has the machine wait once the settlements are stored.
    void back_off(std::string words, std::chrono::microseconds at_least, Instant now);
    Action stop_pass(std::string words, Instant now);
    Action finish(std::string words, Instant now);

    // Gives every parcel of the current and later jobs back to the outbox.
    void give_back(bool current_may_have_arrived, bool to_the_back, const std::string& words);
    void split(BundleJob job);
    void confirm(const logbook::Parcel& parcel, const fhir::exchange::Location& location, int status,
                 Instant now);
    void set_aside(const logbook::Parcel& parcel, std::string words);
    void put_off(const logbook::Parcel& parcel, bool may_have_arrived, bool to_the_back, std::string words);

    const Policy policy_;
    JobBuilder builder_;
    const std::vector<PatientToFind> patients_;
    Random& random_;

    Phase phase_ = Phase::resting;
    logbook::ClinicState state_;
    std::optional<Instant> until_;
    std::size_t limit_;     // Deliveries per bundle that this clinic seems to take.
    bool probing_ = false;  // After a failure one delivery goes first, alone.
    std::size_t next_patient_ = 0;
    std::vector<std::string> left_out_;  // Persons whose patient was not found, and for each why.
    std::vector<std::string> left_out_words_;
    std::deque<Job> jobs_;  // The front one is under way.
    std::vector<logbook::Settlement> settlements_;
    std::optional<std::chrono::microseconds> wait_after_settling_;
    bool rest_after_settling_ = false;
};

}  // namespace nightferry::sync
