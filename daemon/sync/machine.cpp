#include "daemon/sync/machine.hpp"

#include <algorithm>
#include <cassert>

#include "daemon/core/overloaded.hpp"
#include "daemon/core/words.hpp"
#include "daemon/sync/marks.hpp"

namespace nightferry::sync {

using logbook::Parcel;

namespace {

constexpr char window_closed[] = "the window closed; what is left goes out in the next one";

}  // namespace

SyncMachine::SyncMachine(Policy policy, mapping::Mapper mapper, std::vector<PatientToFind> patients,
                         logbook::ClinicState state, Random& random)
    : policy_(policy),
      builder_(std::move(mapper)),
      patients_(std::move(patients)),
      random_(random),
      state_(std::move(state)),
      limit_(policy.deliveries_per_bundle_max),
      ceiling_(policy.deliveries_per_bundle_max),
      presence_(policy.silence_max) {}

Action SyncMachine::on(Event event, Instant now) {
    return std::visit(Overloaded{
                          [&](PassRequested& requested) {
                              assert(phase_ == Phase::resting || phase_ == Phase::waiting);
                              if (phase_ == Phase::resting) return start(requested, now);
                              reached(Mark::request_cut_a_wait_short);
                              return go_on(now);
                          },
                          [&](Taken& taken) {
                              assert(phase_ == Phase::taking);
                              return on_taken(std::move(taken.parcels), now);
                          },
                          [&](Recalled& recalled) {
                              assert(phase_ == Phase::recalling);
                              return on_recalled(std::move(recalled.parcels), now);
                          },
                          [&](Replied& replied) {
                              note_date(replied.reply, now);
                              note_presence(replied.reply, now);
                              denied_ = std::move(replied.denied);
                              if (phase_ == Phase::asking) return on_statement(replied.reply, now);
                              if (phase_ == Phase::finding_patients)
                                  return on_patient_reply(replied.reply, now);
                              return phase_ == Phase::reading_orders ? on_orders_reply(replied.reply, now)
                                                                     : on_reply(replied.reply, now);
                          },
                          [&](OrdersKept& kept) {
                              assert(phase_ == Phase::keeping_orders);
                              return on_orders_kept(kept.history, now);
                          },
                          [&](Settled&) {
                              assert(phase_ == Phase::settling);
                              return on_settled(now);
                          },
                          [&](Rang&) {
                              assert(phase_ == Phase::waiting);
                              quiet_kept_ = quiet_kept_ || waiting_span_ >= policy_.quiet;
                              state_.unguarded = state_.unguarded && !quiet_kept_;
                              waits_for_quiet_ = false;
                              return go_on(now);
                          },
                      },
                      event);
}

Action SyncMachine::start(const PassRequested& event, Instant now) {
    until_ = event.until;
    if (std::exchange(is_surprised_, false)) statement_read_.reset();
    ceiling_ = policy_.deliveries_per_bundle_max;
    limit_ = std::min(ceiling_, limit_ * 2);
    probing_ = state_.failures > 0;
    not_offered_in_a_row_ = 0;
    waits_for_quiet_ = false;
    next_patient_ = 0;
    patient_failures_ = 0;
    next_orders_ = 0;
    left_out_.clear();
    read_back_.restart(policy_.samples);
    furthest_ = 0;
    presence_.forget();
    state_.pass_started = now;
    // By a clock that was set back the last one ended later than now; then it is not known when.
    if (state_.pass_ended >= now) state_.pass_ended = Instant{};
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
    doubt_after_silence(now);
    if (until_ && now >= *until_) {
        reached(Mark::window_closed);
        return finish(PassResult::out_of_time, window_closed, now);
    }
    const bool read_lately =
        statement_read_ && now >= *statement_read_ && now - *statement_read_ < policy_.statement_age_max;
    if (!read_lately) return ask_for_statement(now);
    if (next_patient_ < patients_.size()) return find_next_patient(now);
    if (has_orders_to_read()) return read_orders(now);
    return check_or_take(now);
}

Action SyncMachine::take_more(Instant now) {
    if (until_ && now >= *until_) return finish(PassResult::out_of_time, window_closed, now);
    phase_ = Phase::taking;
    before_refusal_.reset();
    const std::size_t limit = probing_ ? 1 : limit_;
    std::size_t fresh = limit / 2;
    if (limit == 1) {
        fresh = fresh_next_ ? 1 : 0;
        fresh_next_ = !fresh_next_;
    }
    if (is_clock_in_doubt()) reached(Mark::clock_in_doubt);
    return Take{{limit, fresh, left_out_}, is_clock_in_doubt()};
}

std::string SyncMachine::summary() const {
    const std::string other = left_out_.empty() ? "" : "else ";
    if (state_.pass_set_aside == 0 && state_.pass_confirmed == 0) return "nothing " + other + "was waiting";
    const std::string sent = "everything " + other + "that waited was sent";
    if (state_.pass_set_aside == 0) return sent;
    return sent + ", but " + counted(static_cast<std::size_t>(state_.pass_set_aside), "entry", "entries") +
           " could not be settled and " + (state_.pass_set_aside == 1 ? "was" : "were") + " set aside";
}

Action SyncMachine::on_taken(std::vector<Parcel> parcels, Instant now) {
    if (parcels.empty()) return finish(PassResult::all_sent, summary(), now);
    phase_ = Phase::working;
    const bool in_doubt =
        std::any_of(parcels.begin(), parcels.end(), [](const Parcel& one) { return one.outcome_unknown; });
    const bool harmless = builder_.manner().late_requests_are_harmless() && !state_.unguarded;
    if (in_doubt && !quiet_kept_ && !harmless) {
        for (const Parcel& parcel : parcels)
            put_off(parcel, false, false, "a request for it may still be on its way to the clinic");
        reached(Mark::waited_for_quiet);
        state_.words = "waiting until nothing that was sent before can still arrive";
        wait_after_settling_ = policy_.quiet;
        waits_for_quiet_ = true;
        return settle();
    }
    WriteJob together{{}, builder_.manner().carrier};
    for (Parcel& parcel : parcels) {
        if (const auto sendable = builder_.can_send(parcel); !sendable) {
            set_aside(parcel, sendable.error().detail);
            continue;
        }
        if (builder_.is_beyond_asking(parcel)) {
            reached(Mark::beyond_asking);
            set_aside(parcel,
                      "an earlier request for it was never answered, and this clinic's server can neither be "
                      "asked for it nor told to keep it only once; ask there whether it has arrived");
            continue;
        }
        Job job = builder_.job_for(std::move(parcel));
        if (auto* write = std::get_if<WriteJob>(&job); write != nullptr) {
            together.loads.push_back(std::move(write->loads.front()));
        } else {
            jobs_.push_back(std::move(job));
        }
    }
    if (!together.loads.empty()) jobs_.push_front(std::move(together));
    return next_job(now);
}

Action SyncMachine::next_job(Instant now) {
    if (!settlements_.empty() || wait_after_settling_ || rest_after_settling_) return settle();
    if (jobs_.empty()) return check_or_take(now);
    phase_ = Phase::working;
    // A transaction with one resource in it that is not permitted is refused whole.
    if (std::find(denied_.begin(), denied_.end(), "Provenance") != denied_.end())
        builder_.manner().takes_provenance = false;
    auto* write = std::get_if<WriteJob>(&jobs_.front());
    if (write != nullptr) {
        if (!write->loads.front().way) write->carrier = std::max(write->carrier, builder_.manner().carrier);
        const std::size_t most = write->carrier == Carrier::single ? 1 : limit_;
        if (write->loads.size() > most) {
            WriteJob whole = std::move(*write);
            jobs_.pop_front();
            split(std::move(whole));
            return next_job(now);
        }
    }
    HttpRequest request = builder_.request(jobs_.front());
    if (write != nullptr && write->loads.size() > 1 && request.body.size() > policy_.bundle_bytes_max) {
        reached(Mark::bundle_too_many_bytes);
        WriteJob whole = std::move(*write);
        jobs_.pop_front();
        split(std::move(whole));
        return next_job(now);
    }
    // The next process has to know, should this one end before the answer is there.
    if (write != nullptr && note_before_sending(*write)) return settle();
    sent_ = now;
    return Send{std::move(request)};
}

bool SyncMachine::note_before_sending(const WriteJob& write) {
    const Manner& manner = builder_.manner();
    const bool unguarded = builder_.is_unguarded(write);
    const bool apart = write.carrier != Carrier::transaction && manner.takes_provenance &&
                       (claimed_ == Carrier::transaction || !statement_known_);
    const bool is_known = (state_.unguarded || !unguarded) && (state_.provenance_apart || !apart) &&
                          !std::exchange(is_patient_news_, false);
    guards_again_ = guards_again_ || (unguarded && !state_.unguarded && manner.late_requests_are_harmless());
    state_.unguarded = state_.unguarded || unguarded;
    state_.provenance_apart = state_.provenance_apart || apart;
    return !is_known;
}

Action SyncMachine::stop_pass(std::string words, Instant now, bool may_have_arrived, bool to_the_back) {
    give_back(may_have_arrived, to_the_back, words);
    is_surprised_ = true;
    return finish(PassResult::stopped, "stopped: " + std::move(words), now);
}

Action SyncMachine::finish(PassResult result, std::string words, Instant now) {
    for (const std::string& person : left_out_)
        words += "; nothing is sent for '" + person + "', since " + state_.patients[person].left_out_because;
    if (is_clock_in_doubt()) {
        const auto minutes =
            std::chrono::duration_cast<std::chrono::minutes>(std::chrono::abs(state_.skew)).count();
        words += "; this hub's clock is " + counted(static_cast<std::size_t>(minutes), "minute", "minutes") +
                 (state_.skew.count() > 0 ? " behind" : " ahead of") +
                 " the clinic's; set it right, since no summary is made before";
    }
    state_.pass_ended = now;
    state_.pass_result = result;
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
        return finish(PassResult::out_of_time, window_closed + ("; before that: " + state_.words), now);
    phase_ = Phase::waiting;
    waiting_span_ = span;
    presence_.waited(span);
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
