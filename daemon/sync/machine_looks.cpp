// The part of SyncMachine that finds out what the clinic holds of an entry and decides what follows.
#include "daemon/sync/machine.hpp"

namespace nightferry::sync {

namespace {

constexpr int lookups_max = 3;  // Of one parcel in one pass; then its state cannot be settled.
// Of a server that neither searches nor says where it puts things.
constexpr int blind_attempts_max = 10;

constexpr char contradiction[] =
    "the clinic's answers contradict each other; what it holds could not be settled";

}  // namespace

void SyncMachine::try_alone(Load load) {
    // A bundle that was refused may have left something behind all the same.
    const Creating creating = load.creating.value_or(builder_.manner().creating);
    if (!load.replace && creating == Creating::after_a_look) return look(std::move(load));
    jobs_.push_front(WriteJob{{std::move(load)}, Carrier::single});
}

bool SyncMachine::try_after_a_look(Load& load) {
    Manner& manner = builder_.manner();
    const bool can = !load.replace && !load.creating && manner.creating != Creating::after_a_look;
    if (!can || !manner.searches) return false;
    load.creating = Creating::after_a_look;
    look(std::move(load));
    return true;
}

void SyncMachine::look(Load load) {
    if (builder_.manner().searches) {
        jobs_.push_back(LookupJob{std::move(load)});
    } else if (load.parcel.receipt && ++load.lookups <= lookups_max) {
        jobs_.push_front(ReadJob{std::move(load)});
    } else if (load.parcel.attempts < blind_attempts_max) {
        put_off(load.parcel, true, true, "the clinic did not say what it holds, and cannot be asked");
    } else {
        set_aside(load.parcel, contradiction);
    }
}

Action SyncMachine::on_lookup_reply(LookupJob& job, const HttpAnswer& answer, Instant now) {
    Load& load = job.load;
    const bool answered = fate_of_status(answer.status, Purpose::search) == Fate::done;
    if (job.is_check) return on_check(load, answered ? builder_.read(job, answer) : Holding{}, now);
    if (!answered) {
        if (means_not_offered(answer.status)) {
            builder_.manner().searches = false;
            look(std::move(load));
        } else {
            set_aside(load.parcel, words_for(Reply{answer}));
        }
        return next_job(now);
    }
    if (++load.lookups > lookups_max) {
        set_aside(load.parcel, contradiction);
        return next_job(now);
    }
    const Holding holding = builder_.read(job, answer);
    if (holding.kind == Holding::Kind::absent && load.parcel.receipt) {
        // A search does not tell what was deleted from what never came.
        jobs_.push_front(ReadJob{std::move(load)});
        return next_job(now);
    }
    return on_holding(load, holding, now);
}

Action SyncMachine::on_read_reply(ReadJob& job, const HttpAnswer& answer, Instant now) {
    Load& load = job.load;
    const Fate fate = fate_of_status(answer.status, Purpose::read);
    const bool answered = fate == Fate::done || fate == Fate::look;
    const Holding holding = answered ? builder_.read(job, answer) : Holding{};
    if (job.is_check && holding.kind == Holding::Kind::absent && builder_.manner().searches) {
        // Perhaps it has another id by now.
        jobs_.push_front(LookupJob{std::move(load), true});
        return next_job(now);
    }
    if (job.is_check) return on_check(load, holding, now);
    if (!answered) {
        set_aside(load.parcel, words_for(Reply{answer}));
        return next_job(now);
    }
    return on_holding(load, holding, now);
}

Action SyncMachine::on_holding(Load& load, const Holding& holding, Instant now) {
    const Manner& manner = builder_.manner();
    const Carrier carrier = load.refusal.empty() ? manner.carrier : Carrier::single;
    switch (holding.kind) {
        case Holding::Kind::absent:
            if (load.parcel.receipt && !read_back_.was_lost(load.parcel.receipt->number)) {
                on_gone(load);
            } else {
                load.replace.reset();
                write_what_is_not_there(std::move(load));
            }
            break;
        case Holding::Kind::deleted:
            on_gone(load);
            break;
        case Holding::Kind::up_to_date:
            load.place = holding.location;
            load.status = 200;
            load.by_look = true;
            if (manner.carrier != Carrier::transaction && manner.takes_provenance) {
                // It may have been cut off between the two.
                jobs_.push_front(ProvenanceJob{{std::move(load)}, Carrier::single});
            } else {
                confirm(load, {}, now);
            }
            break;
        case Holding::Kind::ours_older:
            load.replace = holding.location;
            jobs_.push_front(WriteJob{{std::move(load)}, carrier});
            break;
        case Holding::Kind::changed:
            set_aside(load.parcel, "the clinic's copy was changed there; it was not overwritten");
            break;
        case Holding::Kind::not_ours:
            set_aside(load.parcel,
                      "the clinic answered the search for this entry with something else; it was left alone");
            break;
        case Holding::Kind::several:
            set_aside(
                load.parcel,
                "the clinic holds " + std::to_string(holding.matches) +
                    " resources with this entry's identifier; somebody there has to settle which counts");
            break;
        case Holding::Kind::hidden:
            set_aside(load.parcel,
                      "the clinic counts more resources with this entry's identifier than it shows; somebody "
                      "there has to look");
            break;
        case Holding::Kind::unreadable:
            jobs_.push_front(LookupJob{std::move(load)});
            return retry_later(
                // It may be this very entry; the others go first next time.
                NoAnswer{NoAnswer::Reached::perhaps, "the clinic's answer to a search cannot be read"}, now);
    }
    return next_job(now);
}

void SyncMachine::write_what_is_not_there(Load load) {
    Manner& manner = builder_.manner();
    // A server that finds the condition unmet where there is nothing does not understand it.
    if (load.lookups > 1 && !load.creating && manner.creating == Creating::on_condition)
        load.creating = Creating::after_a_look;
    if (load.creating && *load.creating != manner.creating) {
        // From here on a request without an answer is one without a condition.
        creating_before_ = manner.creating;
        manner.creating = *load.creating;
    }
    const Carrier carrier = load.refusal.empty() ? manner.carrier : Carrier::single;
    jobs_.push_front(WriteJob{{std::move(load)}, carrier});
}

void SyncMachine::on_gone(Load& load) {
    set_aside(load.parcel,
              "the clinic confirmed an earlier revision but no longer holds it; it was not put back");
}

}  // namespace nightferry::sync
