// The part of SyncMachine that decides what the clinic's answers to writes mean.
#include <algorithm>
#include <cassert>

#include "daemon/core/overloaded.hpp"
#include "daemon/sync/machine.hpp"
#include "daemon/sync/marks.hpp"
#include "fhir/exchange/outcome.hpp"

namespace nightferry::sync {

namespace {

constexpr int not_offered_max = 3;
constexpr int claim_tries_max = 2;

// Whether the job copes by itself with a status that otherwise only a person can mend.
bool copes_with(const Job& job, int status) {
    return std::visit(
        Overloaded{
            [&](const WriteJob&) { return means_not_offered(status); },
            [&](const ProvenanceJob&) { return status != 401; },
            [&](const auto& look) { return look.is_check ? status != 401 : means_not_offered(status); },
        },
        job);
}

// The record is there; only its Provenance fails again and again.
bool is_given_up(const Job& job, const HttpAnswer* answer) {
    const auto* beside = std::get_if<ProvenanceJob>(&job);
    if (beside == nullptr || answer == nullptr || answer->status < 500) return false;
    return std::all_of(beside->loads.begin(), beside->loads.end(),
                       [](const Load& load) { return load.parcel.attempts >= attempts_for_provenance; });
}

}  // namespace

Action SyncMachine::on_reply(const Reply& reply, Instant now) {
    assert(phase_ == Phase::working && !jobs_.empty());
    if (std::exchange(guards_again_, false)) state_.unguarded = false;
    const Fate fate = fate_of(reply, JobBuilder::purpose(jobs_.front()));
    const auto* answer = std::get_if<HttpAnswer>(&reply);
    if (fate == Fate::retry && !is_given_up(jobs_.front(), answer)) return on_not_now(reply, now);
    const bool is_forbidden = answer != nullptr && answer->status == 403;
    const bool copes = answer != nullptr && (copes_with(jobs_.front(), answer->status) ||
                                             (is_forbidden && is_about_one_entry(jobs_.front())));
    if (fate == Fate::stop && !copes) {
        const bool is_write = std::holds_alternative<WriteJob>(jobs_.front());
        // Others may be permitted what this one is not.
        return stop_pass(words_for(reply), now, is_write && may_have_acted(reply), is_forbidden);
    }
    Job job = std::move(jobs_.front());
    jobs_.pop_front();
    return std::visit(Overloaded{
                          [&](WriteJob& write) { return on_write_reply(write, *answer, now); },
                          [&](ProvenanceJob& beside) { return on_provenance_reply(beside, *answer, now); },
                          [&](LookupJob& lookup) { return on_lookup_reply(lookup, *answer, now); },
                          [&](ReadJob& read) { return on_read_reply(read, *answer, now); },
                      },
                      job);
}

Action SyncMachine::on_not_now(const Reply& reply, Instant now) {
    if (passes_over_check(reply)) return next_job(now);
    auto* lookup = std::get_if<LookupJob>(&jobs_.front());
    // Between others that get through it is this one that the server cannot look for.
    const bool is_this_one = lookup != nullptr && !lookup->is_check && state_.failures == 0 &&
                             std::holds_alternative<HttpAnswer>(reply) && !says_busy(reply);
    if (!is_this_one) return retry_later(reply, now);
    Load load = std::move(lookup->load);
    jobs_.pop_front();
    return look_later(std::move(load), reply, now);
}

// Where others got through, or a second way of writing it is tried, what is forbidden is forbidden for this;
// and what the statement does not offer, nobody need permit.
bool SyncMachine::is_about_one_entry(const Job& job) const {
    if (state_.pass_confirmed > 0) return true;
    const auto* write = std::get_if<WriteJob>(&job);
    if (write == nullptr) return false;
    const bool is_unclaimed = statement_known_ && write->carrier != claimed_;
    return is_unclaimed || !write->loads.front().refusal.empty();
}

// Rather than about an entry in it. Where nothing is known of a server, its words about an entry count as
// such; and what is tried for one entry only teaches nothing about the others.
bool SyncMachine::is_about_the_bundle(const WriteJob& job, const HttpAnswer& answer) const {
    if (!means_not_offered(answer.status) || job.loads.front().way) return false;
    return builder_.manner().is_claimed || !fhir::exchange::is_outcome(answer.body);
}

Action SyncMachine::on_write_reply(WriteJob& job, const HttpAnswer& answer, Instant now) {
    const Fate fate = fate_of_status(answer.status, JobBuilder::purpose(job));
    if (answer.status == 202) return on_taken_in_only(job, answer, now);
    if (job.carrier != Carrier::single) {
        if (fate == Fate::stop && is_about_the_bundle(job, answer)) return on_not_offered(job, now);
        if (fate == Fate::stop) return on_bundle_refused(job, answer, Fate::refuse, now);
        if (fate != Fate::done) return on_bundle_refused(job, answer, fate, now);
    } else if (fate == Fate::stop || fate == Fate::refuse) {
        return on_single_refused(job.loads.front(), answer, now);
    }
    std::vector<LoadAnswer> answers = builder_.read(job, answer);
    const std::size_t loads = job.loads.size();
    const bool is_unguarded = builder_.is_unguarded(job);
    std::string not_now;
    for (std::size_t i = 0; i < loads; ++i) {
        if (answers[i].fate == Fate::retry) {
            not_now = "for a part of what was sent " + words_for(answers[i].status, answers[i].words);
            reached(Mark::part_put_off);
            put_off(job.loads[i].parcel, true, true, not_now);
        } else {
            on_load_done(job, job.loads[i], answers[i], now);
        }
    }
    note_enough(loads);
    write_provenance(job.carrier);
    // What the server put off must not come back at once.
    if (not_now.empty()) return next_job(now);
    state_.unguarded = state_.unguarded || is_unguarded;
    return wait_for_the_clinic(std::move(not_now), now);
}

void SyncMachine::on_load_done(WriteJob& job, Load& load, LoadAnswer& answer, Instant now) {
    Manner& manner = builder_.manner();
    switch (answer.fate) {
        case Fate::done: {
            const bool was_refused_in_a_bundle = job.carrier > manner.carrier;
            const bool provenance_is_along = job.carrier == Carrier::transaction;
            load.place = answer.location;
            load.status = answer.status;
            if (!load.replace && answer.status == 201 &&
                builder_.creating_of(load) == Creating::on_condition) {
                state_.knows_conditions = true;
                refused_in_a_row_ = 0;
            }
            if (load.way && load.way->creating != manner.creating) {
                reached(Mark::taken_without_condition);
                manner.creating = load.way->creating;
            }
            if (load.way) manner.carrier = std::min(manner.carrier, job.carrier);
            if (was_refused_in_a_bundle &&
                !(manner.carrier == Carrier::transaction && manner.takes_provenance)) {
                // By itself it is taken, so it was the bundle that was not.
                reached(Mark::alone_was_taken);
                manner.carrier = below(manner.carrier);
            }
            if (job.carrier == Carrier::transaction && load.way && !load.way->with_provenance) {
                reached(Mark::taken_bare);
                manner.takes_provenance = false;
            }
            if (answer.provenance_refused || provenance_is_along || !manner.takes_provenance) {
                confirm(load, std::move(answer.words), now);
            } else {
                beside_.push_back(std::move(load));
            }
            break;
        }
        case Fate::look:
            load.seen = answer.location;
            load.was_written = true;
            load.was_taken = load.was_taken || answer.status < 300;
            load.our_id_read = false;
            load.status = answer.status;
            load.was_there = answer.status == 200;
            reached(load.was_there ? Mark::found_instead_of_created : Mark::answer_without_match);
            look(std::move(load));
            break;
        default:
            if (load.refusal.empty()) load.refusal = words_for(answer.status, answer.words);
            if (!try_another_way(load, builder_.way_of(job, load))) set_aside(load.parcel, load.refusal);
            break;
    }
}

Action SyncMachine::on_taken_in_only(WriteJob& job, const HttpAnswer& answer, Instant now) {
    const std::string words = "the clinic took it in but has not done it yet; " + words_for(Reply{answer});
    reached(Mark::only_taken_in);
    for (const Load& load : job.loads)
        put_off(load.parcel, true, false, words);
    state_.unguarded = state_.unguarded || builder_.is_unguarded(job);
    return wait_for_the_clinic(words, now);
}

Action SyncMachine::on_not_offered(WriteJob& job, Instant now) {
    Manner& manner = builder_.manner();
    manner.carrier = std::max(manner.carrier, below(job.carrier));
    reached(manner.carrier == Carrier::batch ? Mark::stepped_down_to_batch : Mark::stepped_down_to_single);
    jobs_.push_front(std::move(job));
    return next_job(now);
}

Action SyncMachine::on_bundle_refused(WriteJob& job, const HttpAnswer& answer, Fate fate, Instant now) {
    if (fate == Fate::refuse && !builder_.manner().is_claimed) {
        // Nobody promised that a refused bundle leaves nothing behind, or that conditions are heeded.
        note_too_much(job.loads.size());
        if (job.loads.size() == 1) return look_before_another_way(job, answer, now);
        for (Load& load : job.loads)
            look(std::move(load));
    } else if (job.loads.size() > 1) {
        // A moved version says nothing about how much there was.
        if (fate == Fate::refuse) note_too_much(job.loads.size());
        split(std::move(job));
    } else if (fate == Fate::refuse) {
        // Perhaps the server refuses the bundle, or the Provenance in it: by itself the entry may be taken.
        note_culprit();
        Load& load = job.loads.front();
        if (load.refusal.empty()) load.refusal = words_for(Reply{answer});
        if (!try_another_way(load, builder_.way_of(job, load))) set_aside(load.parcel, load.refusal);
    } else if (means_not_offered(answer.status)) {
        // What an update means by that, a server that takes no bundles means as well.
        return look_before_another_way(job, answer, now);
    } else {
        Load& load = job.loads.front();
        load.status = answer.status;
        reached(Mark::version_moved_on);
        look(std::move(load));
    }
    return next_job(now);
}

Action SyncMachine::look_before_another_way(WriteJob& job, const HttpAnswer& answer, Instant now) {
    Load& load = job.loads.front();
    if (load.refusal.empty()) load.refusal = words_for(Reply{answer});
    if (choose_another_way(load, builder_.way_of(job, load))) {
        look(std::move(load));
    } else {
        set_aside(load.parcel, load.refusal);
    }
    return next_job(now);
}

Action SyncMachine::on_single_refused(Load& load, const HttpAnswer& answer, Instant now) {
    const Way way{Carrier::single, false, builder_.creating_of(load)};
    const bool not_offered = means_not_offered(answer.status) || answer.status == 403;
    const bool is_second_try = !load.refusal.empty();
    // Some servers say of a condition, or of an id of ours, that they do not offer it.
    const bool may_mean_how = answer.status == 501 || (not_offered && way.creating == Creating::under_our_id);
    if (may_mean_how && statement_known_ && try_another_way(load, way)) return next_job(now);
    if (!is_second_try && not_offered && builder_.manner().carrier != claimed_ &&
        claim_tries_++ < claim_tries_max) {
        // What is said to be offered was refused for a while, then, and not for good.
        builder_.manner().carrier = claimed_;
        write(std::move(load));
        return retry_later(Reply{answer}, now);
    }
    if (!is_second_try && not_offered && (!statement_known_ || ++not_offered_in_a_row_ > not_offered_max)) {
        // Not this entry but the address, or all that it leads to; or many of a kind, which others pass by.
        reached(Mark::nothing_offered);
        write(std::move(load));
        return stop_pass(words_for(Reply{answer}), now, false, true);
    }
    load.singles_refused = load.singles_refused || not_offered;
    if (load.refusal.empty()) load.refusal = words_for(Reply{answer});
    if (try_another_way(load, way)) return next_job(now);
    // Where single requests are not offered at all, the bundle's refusal is the one that counts.
    set_aside(load.parcel, is_second_try && not_offered ? load.refusal : words_for(Reply{answer}));
    if (!not_offered) note_progress();
    return next_job(now);
}

}  // namespace nightferry::sync
