// The part of SyncMachine that finds out what the clinic holds of an entry and decides what follows.
#include "daemon/sync/machine.hpp"
#include "daemon/sync/marks.hpp"

namespace nightferry::sync {

namespace {

constexpr int lookups_max = 5;  // Of one parcel in one pass; then its state cannot be settled.
// Of a server that neither searches nor says where it puts things.
constexpr int blind_attempts_max = 10;
constexpr int refusals_believed = 3;
constexpr int futile_looks_max = 10;  // In a row, for one parcel, that were answered and said nothing.

constexpr char contradiction[] =
    "the clinic's answers contradict each other; what it holds could not be settled";

bool says_something(const Holding& holding) {
    return holding.kind != Holding::Kind::forbidden && holding.kind != Holding::Kind::unreadable;
}

}  // namespace

bool SyncMachine::choose_another_way(Load& load, const Way& refused) {
    const Manner& manner = builder_.manner();
    load.tried.push_back(refused);
    const bool is_understood = manner.creating == Creating::on_condition && state_.knows_conditions;
    load.way = next_way(load.tried, manner, load.replace || is_understood, load.singles_refused);
    if (!load.way) {
        // Several in a row, and nothing that was created: perhaps it is no longer understood.
        if (is_understood && ++refused_in_a_row_ >= refusals_believed) state_.knows_conditions = false;
        return false;
    }
    if (load.way->carrier == Carrier::single && refused.carrier != Carrier::single)
        reached(Mark::alone_after_refusal);
    if (load.way->creating != manner.creating) reached(Mark::tried_without_condition);
    return true;
}

bool SyncMachine::try_another_way(Load& load, const Way& refused) {
    if (!choose_another_way(load, refused)) return false;
    // What was refused may have left something behind all the same.
    if (!load.replace && load.way->creating == Creating::after_a_look) {
        look(std::move(load));
    } else {
        write(std::move(load));
    }
    return true;
}

void SyncMachine::write(Load load) {
    const Carrier carrier = builder_.way_of(load).carrier;
    jobs_.push_front(WriteJob{{std::move(load)}, carrier});
}

void SyncMachine::look(Load load) {
    if (builder_.may_be_under_our_id(load)) load = JobBuilder::under_our_id(std::move(load));
    load.was_written = true;
    const bool can_read = load.seen || (load.parcel.receipt && !builder_.manner().searches);
    if (can_read && ++load.lookups <= lookups_max) {
        jobs_.push_back(ReadJob{std::move(load)});
    } else if (builder_.manner().searches) {
        jobs_.push_back(LookupJob{std::move(load)});
    } else if (load.parcel.attempts < blind_attempts_max) {
        put_off(load.parcel, true, true, "the clinic did not say what it holds, and cannot be asked");
    } else {
        set_aside(load.parcel, contradiction);
    }
}

Action SyncMachine::on_lookup_reply(LookupJob& job, const HttpAnswer& answer, Instant now) {
    Load& load = job.load;
    const bool answered = fate_of_status(answer.status, Purpose::search) == Fate::done;
    if (job.is_check) {
        Holding holding = answered ? builder_.read(job, answer) : Holding{};
        if (holding.kind == Holding::Kind::absent && load.was_deleted) holding.kind = Holding::Kind::deleted;
        return on_check(load, holding, now);
    }
    if (!answered) {
        const bool is_offered = builder_.manner().is_claimed || (has_searched_ && ++search_refusals_ < 5);
        if (answer.status < 300 || (means_not_offered(answer.status) && is_offered)) {
            // It says that it can be asked, or could be, so this passes.
            return look_later(std::move(load), Reply{answer}, now);
        }
        if (means_not_offered(answer.status)) {
            reached(Mark::search_not_offered);
            builder_.manner().searches = false;
            look(std::move(load));
        } else {
            set_aside(load.parcel, words_for(Reply{answer}));
        }
        return next_job(now);
    }
    has_searched_ = true;
    search_refusals_ = 0;
    const Holding holding = builder_.read(job, answer);
    if (++load.lookups > lookups_max && holding.kind != Holding::Kind::up_to_date) {
        reached(Mark::answers_contradict);
        set_aside(load.parcel, contradiction);
        return next_job(now);
    }
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
    Holding holding = answered ? builder_.read(job, answer) : Holding{};
    if (answer.status == 403 || (!answered && means_not_offered(answer.status)))
        holding.kind = Holding::Kind::forbidden;
    const bool is_gone = holding.kind == Holding::Kind::absent || holding.kind == Holding::Kind::deleted;
    if (job.is_check && is_gone && builder_.manner().searches) {
        // Perhaps it has another id by now, or the one in the receipt never was its own.
        load.was_deleted = holding.kind == Holding::Kind::deleted;
        jobs_.push_front(LookupJob{std::move(load), true});
        return next_job(now);
    }
    if (job.is_check) return on_check(load, holding, now);
    if (load.seen && builder_.manner().searches && (!answered || holding.kind == Holding::Kind::absent)) {
        load.seen.reset();
        look(std::move(load));
        return next_job(now);
    }
    if (!answered) {
        set_aside(load.parcel, words_for(Reply{answer}));
        return next_job(now);
    }
    return on_holding(load, holding, now);
}

bool SyncMachine::has_nothing_to_take_back(const Load& load, const Holding& holding) {
    const bool is_there = holding.kind != Holding::Kind::absent && holding.kind != Holding::Kind::deleted;
    if (!load.parcel.only_taken_back || is_there) return false;
    settled(load.parcel, logbook::Settlement::Fate::withdrawn,
            "the clinic does not hold it, so there was nothing to take back");
    return true;
}

Action SyncMachine::on_holding(Load& load, const Holding& holding, Instant now) {
    if (says_something(holding)) futile_looks_.erase(load.parcel.id);
    if (has_nothing_to_take_back(load, holding)) return next_job(now);
    const Manner& manner = builder_.manner();
    switch (holding.kind) {
        case Holding::Kind::absent:
            if (load.parcel.receipt && !load.parcel.lost &&
                !read_back_.was_lost(load.parcel.receipt->number)) {
                on_gone(load);
            } else {
                load.parcel.lost = load.parcel.receipt.has_value();
                reached(load.parcel.lost ? Mark::lost_and_written_again : Mark::found_nothing);
                // What was said of replacing it says nothing of creating it.
                if (std::exchange(load.replace, std::nullopt)) load.status = 0;
                return write_what_is_not_there(std::move(load), now);
            }
            break;
        case Holding::Kind::deleted:
            reached(Mark::deleted_there);
            on_gone(load);
            break;
        case Holding::Kind::up_to_date:
            reached(Mark::found_up_to_date);
            load.place = holding.location;
            load.status = 200;
            load.written = load.was_there ? logbook::Receipt::Written::at_any_time
                                          : logbook::Receipt::Written::since_the_first_try;
            if (manner.takes_provenance &&
                (manner.carrier != Carrier::transaction || state_.provenance_apart)) {
                // It may have been cut off between the two.
                jobs_.push_front(ProvenanceJob{{std::move(load)}, Carrier::single});
            } else {
                confirm(load, {}, now);
            }
            break;
        case Holding::Kind::ours_older:
            reached(Mark::found_older);
            load.replace = holding.location;
            write(std::move(load));
            break;
        case Holding::Kind::changed:
            reached(Mark::found_changed);
            set_aside(load.parcel, "the clinic's copy was changed there; it was not overwritten");
            break;
        case Holding::Kind::not_ours:
            set_aside(load.parcel,
                      "the clinic answered the search for this entry with something else; it was left alone");
            break;
        case Holding::Kind::several:
            reached(Mark::found_several);
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
        case Holding::Kind::forbidden:
        case Holding::Kind::unreadable:
            // It may be this very entry; the others go first next time.
            return look_later(
                std::move(load),
                NoAnswer{NoAnswer::Reached::perhaps, "the clinic's answer to a search cannot be read"}, now);
    }
    return next_job(now);
}

Action SyncMachine::write_what_is_not_there(Load load, Instant now) {
    const Manner& manner = builder_.manner();
    const Creating creating = builder_.creating_of(load);
    const bool is_kept_once = creating == Creating::on_condition && manner.is_claimed;
    if (load.was_taken && creating != Creating::under_our_id && !is_kept_once) {
        if (load.parcel.attempts >= blind_attempts_max) {
            set_aside(load.parcel, contradiction);
            return next_job(now);
        }
        state_.unguarded = state_.unguarded || creating != Creating::on_condition;
        return wait_until_it_shows(load, "the clinic took it, but does not show it yet", now);
    }
    if (load.lookups > 1 && load.status == 412 && creating == Creating::on_condition) {
        const bool may_be_there = load.parcel.outcome_unknown && !quiet_kept_;
        if (load.parcel.attempts < blind_attempts_max && (may_be_there || state_.knows_conditions)) {
            // Whatever this server claims of conditions, it is not sure that it heeds them.
            state_.unguarded = state_.unguarded || !state_.knows_conditions;
            return wait_until_it_shows(load, "the clinic says it is there, but does not show it yet", now);
        }
        // A server that finds the condition unmet where there is nothing does not understand it.
        load.tried.push_back(builder_.way_of(load));
        load.way = load.tried.back();
        load.way->creating = Creating::after_a_look;
    }
    write(std::move(load));
    return next_job(now);
}

Action SyncMachine::wait_until_it_shows(const Load& load, const std::string& words, Instant now) {
    put_off(load.parcel, true, true, words);
    return wait_for_the_clinic(words, now);
}

// A search that fails time and again concerns this entry at last, whatever the statement says.
Action SyncMachine::look_later(Load load, const Reply& reply, Instant now) {
    if (++futile_looks_[load.parcel.id] >= futile_looks_max) {
        futile_looks_.erase(load.parcel.id);
        set_aside(load.parcel, words_for(reply));
        return next_job(now);
    }
    jobs_.push_front(LookupJob{std::move(load)});
    return retry_later(reply, now);
}

void SyncMachine::on_gone(Load& load) {
    reached(Mark::not_there_though_confirmed);
    set_aside(load.parcel,
              "the clinic confirmed an earlier revision but no longer holds it; it was not put back");
}

}  // namespace nightferry::sync
