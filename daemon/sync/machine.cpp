#include "daemon/sync/machine.hpp"

#include <algorithm>
#include <cassert>

#include "daemon/core/overloaded.hpp"
#include "daemon/core/words.hpp"
#include "daemon/sync/backoff.hpp"

namespace nightferry::sync {

using logbook::Parcel;

namespace {

constexpr char window_closed[] = "the window closed; what is left goes out in the next one";

// The clinic was reached and did not say that it is merely busy: perhaps it is this very entry that it cannot
// bear, so the others go first next time.
bool may_be_this_entry(const Reply& reply) {
    if (const auto* none = std::get_if<NoAnswer>(&reply)) return none->reached == NoAnswer::Reached::perhaps;
    return std::get<HttpAnswer>(reply).status != 429;
}

bool took_too_long(const Reply& reply) {
    if (const auto* answer = std::get_if<HttpAnswer>(&reply)) return answer->status == 504;
    return std::get<NoAnswer>(reply).reached == NoAnswer::Reached::perhaps;
}

}  // namespace

SyncMachine::SyncMachine(Policy policy, mapping::Mapper mapper, std::vector<PatientToFind> patients,
                         logbook::ClinicState state, Random& random)
    : policy_(policy),
      builder_(std::move(mapper)),
      patients_(std::move(patients)),
      random_(random),
      state_(std::move(state)),
      limit_(policy.deliveries_per_bundle_max) {}

Action SyncMachine::on(Event event, Instant now) {
    return std::visit(Overloaded{
                          [&](PassRequested& requested) {
                              assert(phase_ == Phase::resting || phase_ == Phase::waiting);
                              return phase_ == Phase::waiting ? go_on(now) : start(requested, now);
                          },
                          [&](Taken& taken) {
                              assert(phase_ == Phase::taking);
                              return on_taken(std::move(taken.parcels), now);
                          },
                          [&](Replied& replied) {
                              return phase_ == Phase::finding_patients ? on_patient_reply(replied.reply, now)
                                                                       : on_reply(replied.reply, now);
                          },
                          [&](Settled&) {
                              assert(phase_ == Phase::settling);
                              return on_settled(now);
                          },
                          [&](Rang&) {
                              assert(phase_ == Phase::waiting);
                              return go_on(now);
                          },
                      },
                      event);
}

Action SyncMachine::start(const PassRequested& event, Instant now) {
    until_ = event.until;
    limit_ = std::min(policy_.deliveries_per_bundle_max, limit_ * 2);
    probing_ = state_.failures > 0;
    next_patient_ = 0;
    left_out_.clear();
    left_out_words_.clear();
    state_.pass_started = now;
    state_.pass_ended = Instant{};
    state_.pass_confirmed = 0;
    state_.pass_set_aside = 0;
    state_.words = "under way";
    if (!event.by_a_person && state_.not_before > now) {
        // A clock that was wrong when the failure was dated must not keep us waiting for years.
        const auto longest = std::max<std::chrono::microseconds>(policy_.backoff_max, std::chrono::hours{1});
        return wait(std::min<std::chrono::microseconds>(state_.not_before - now, longest), now);
    }
    return go_on(now);
}

// From the start of a pass, or after a wait.
Action SyncMachine::go_on(Instant now) {
    if (until_ && now >= *until_) return finish(window_closed, now);
    return next_patient_ < patients_.size() ? find_next_patient() : take_more(now);
}

Action SyncMachine::take_more(Instant now) {
    if (until_ && now >= *until_) return finish(window_closed, now);
    phase_ = Phase::taking;
    return Take{probing_ ? 1 : limit_, left_out_};
}

void SyncMachine::note_progress() {
    state_.failures = 0;
    probing_ = false;
}

std::string SyncMachine::summary() const {
    const std::string other = left_out_.empty() ? "" : "else ";
    if (state_.pass_set_aside == 0 && state_.pass_confirmed == 0) return "nothing " + other + "was waiting";
    const std::string sent = "everything " + other + "that waited was sent";
    if (state_.pass_set_aside == 0) return sent;
    return sent + ", but " + counted(static_cast<std::size_t>(state_.pass_set_aside), "entry", "entries") +
           " could not be settled and was set aside";
}

Action SyncMachine::on_taken(std::vector<Parcel> parcels, Instant now) {
    if (parcels.empty()) return finish(summary(), now);
    phase_ = Phase::working;
    BundleJob bundle;
    for (Parcel& parcel : parcels) {
        if (const auto sendable = builder_.can_send(parcel); !sendable) {
            set_aside(parcel, sendable.error().detail);
            continue;
        }
        Job job = builder_.job_for(std::move(parcel));
        if (auto* single = std::get_if<BundleJob>(&job)) {
            bundle.loads.push_back(std::move(single->loads.front()));
        } else {
            jobs_.push_back(std::move(job));
        }
    }
    if (!bundle.loads.empty()) jobs_.push_front(std::move(bundle));
    return next_job(now);
}

Action SyncMachine::next_job(Instant now) {
    if (!settlements_.empty()) return settle();
    if (jobs_.empty()) return take_more(now);
    phase_ = Phase::working;
    if (auto* bundle = std::get_if<BundleJob>(&jobs_.front());
        bundle != nullptr && bundle->loads.size() > limit_) {
        BundleJob whole = std::move(*bundle);
        jobs_.pop_front();
        split(std::move(whole));
        return next_job(now);
    }
    return Send{std::visit([&](const auto& job) { return builder_.request(job); }, jobs_.front())};
}

void SyncMachine::split(BundleJob job) {
    const std::size_t half = std::min(limit_, (job.loads.size() + 1) / 2);
    BundleJob first;
    BundleJob second;
    for (std::size_t i = 0; i < job.loads.size(); ++i) {
        (i < half ? first : second).loads.push_back(std::move(job.loads[i]));
    }
    if (!second.loads.empty()) jobs_.push_front(std::move(second));
    jobs_.push_front(std::move(first));
}

void SyncMachine::give_back(bool current_may_have_arrived, bool to_the_back, const std::string& words) {
    bool current = true;
    const auto give = [&](const Load& load) {
        put_off(load.parcel, current && current_may_have_arrived, current && to_the_back,
                current ? words : std::string());
    };
    for (const Job& job : jobs_) {
        std::visit(Overloaded{
                       [&](const BundleJob& bundle) {
                           std::for_each(bundle.loads.begin(), bundle.loads.end(), give);
                       },
                       [&](const LookupJob& lookup) { give(lookup.load); },
                   },
                   job);
        current = false;
    }
    jobs_.clear();
}

Action SyncMachine::retry_later(const Reply& reply, Instant now) {
    // A bundle that takes too long may be too large for this clinic.
    const auto* bundle = jobs_.empty() ? nullptr : std::get_if<BundleJob>(&jobs_.front());
    if (bundle != nullptr && took_too_long(reply))
        limit_ = std::max<std::size_t>(1, bundle->loads.size() / 2);
    const std::string words = words_for(reply);
    give_back(may_have_acted(reply), may_be_this_entry(reply), words);
    const auto* answer = std::get_if<HttpAnswer>(&reply);
    const auto asked = answer == nullptr ? std::nullopt : retry_after(*answer, now);
    back_off(words, asked.value_or(std::chrono::microseconds{0}), now);
    return settle();
}

void SyncMachine::back_off(std::string words, std::chrono::microseconds at_least, Instant now) {
    ++state_.failures;
    probing_ = true;
    const std::chrono::microseconds span = std::max(at_least, backoff(state_.failures, policy_, random_));
    state_.not_before = now + span;
    state_.words = std::move(words);
    wait_after_settling_ = span;
}

Action SyncMachine::stop_pass(std::string words, Instant now) {
    give_back(false, false, words);
    return finish("stopped: " + std::move(words), now);
}

Action SyncMachine::finish(std::string words, Instant now) {
    for (const std::string& one : left_out_words_)
        words += "; " + one;
    state_.pass_ended = now;
    state_.words = std::move(words);
    rest_after_settling_ = true;
    return settle();
}

Action SyncMachine::settle() {
    phase_ = Phase::settling;
    return Settle{std::exchange(settlements_, {}), state_};
}

Action SyncMachine::wait(std::chrono::microseconds span, Instant now) {
    if (until_ && now + span >= *until_)
        return finish(window_closed + ("; before that: " + state_.words), now);
    phase_ = Phase::waiting;
    return Wait{span};
}

Action SyncMachine::on_settled(Instant now) {
    if (std::exchange(rest_after_settling_, false)) {
        phase_ = Phase::resting;
        return Rest{};
    }
    if (wait_after_settling_) {
        const auto span = *std::exchange(wait_after_settling_, std::nullopt);
        return wait(span, now);
    }
    return next_job(now);
}

}  // namespace nightferry::sync
