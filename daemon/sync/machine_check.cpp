// The part of SyncMachine that reads back what the clinic has confirmed.
#include "daemon/sync/machine.hpp"
#include "daemon/sync/marks.hpp"

namespace nightferry::sync {

namespace {

// What waits with a later revision, or to be written again, is dealt with when it is taken. What the clinic
// is not to have any more may be missing: perhaps somebody asked it to remove that.
bool waits_anyway(const logbook::Parcel& parcel) {
    return parcel.receipt->revision < parcel.wanted.revision || parcel.lost || parcel.withheld;
}

}  // namespace

void SyncMachine::trust_nothing_read_back() {
    read_back_.restart(0);
    presence_.forget();
}

void SyncMachine::doubt_after_silence(Instant now) {
    if (!presence_.may_have_been_put_back(now)) return;
    reached(Mark::read_back_after_silence);
    trust_nothing_read_back();
}

Action SyncMachine::check_or_take(Instant now) {
    doubt_after_silence(now);
    return read_back_.is_over() ? take_more(now) : recall();
}

Action SyncMachine::recall() {
    phase_ = Phase::recalling;
    const ReadBack::Wish wish = read_back_.next(random_);
    return Recall{wish.below, wish.limit};
}

Action SyncMachine::on_recalled(std::vector<logbook::Parcel> parcels, Instant now) {
    if (parcels.empty()) read_back_.none_left();
    for (logbook::Parcel& parcel : parcels) {
        Load load;
        load.parcel = std::move(parcel);
        jobs_.push_back(ReadJob{std::move(load), true});
    }
    return next_job(now);
}

bool SyncMachine::passes_over_check(const Reply& reply) {
    const auto* answer = std::get_if<HttpAnswer>(&reply);
    const bool is_away = answer == nullptr && std::get<NoAnswer>(reply).reached == NoAnswer::Reached::no;
    const Load* load = checked_load(jobs_.front());
    if (load == nullptr || says_busy(reply) || is_away) return false;
    reached(Mark::read_back_without_answer);
    const bool walking = read_back_.is_walking();
    const auto how = answer == nullptr ? ReadBack::InVain::lost : ReadBack::InVain::failed;
    if (!read_back_.note_no_answer(load->parcel.receipt->number, how)) return false;
    jobs_.pop_front();
    end_walk(walking);
    return true;
}

// What was recalled besides need not be read any more.
void SyncMachine::end_walk(bool was_walking) {
    if (was_walking && !read_back_.is_walking()) jobs_.clear();
}

Action SyncMachine::on_check(Load& load, const Holding& holding, Instant now) {
    logbook::Parcel& parcel = load.parcel;
    const logbook::Receipt& receipt = *parcel.receipt;
    const bool walking = read_back_.is_walking();
    const bool waits = waits_anyway(parcel);
    switch (holding.kind) {
        case Holding::Kind::absent:
            return on_missing(load, now);
        case Holding::Kind::ours_older:
            if (!waits || holding.revision < receipt.revision) return on_missing(load, now);
            [[fallthrough]];
        case Holding::Kind::up_to_date:
        case Holding::Kind::changed:  // What people at the clinic did to it since is their affair.
        case Holding::Kind::several:
            // Put back to an earlier revision, it would read the same.
            read_back_.present(receipt.number,
                               holding.earliest < receipt.revision ? 0 : receipt.written_after);
            break;
        case Holding::Kind::deleted:
            reached(Mark::read_back_deleted);
            read_back_.present(receipt.number, 0);
            if (!waits)
                set_aside(parcel,
                          "somebody at the clinic deleted what it had confirmed; it was not put back");
            break;
        default:
            reached(Mark::read_back_without_answer);
            // Some clinics take what they are given and cannot be asked.
            if (!read_back_.note_no_answer(receipt.number, holding.kind == Holding::Kind::forbidden
                                                               ? ReadBack::InVain::forbidden
                                                               : ReadBack::InVain::failed)) {
                return retry_later(
                    NoAnswer{NoAnswer::Reached::no, "the clinic's answer about what it holds cannot be read"},
                    now);
            }
            break;
    }
    end_walk(walking);
    return next_job(now);
}

Action SyncMachine::on_missing(Load& load, Instant now) {
    logbook::Parcel& parcel = load.parcel;
    const bool walking = read_back_.is_walking();
    const std::int64_t number = parcel.receipt->number;
    read_back_.missing(number);
    reached(walking ? Mark::read_back_newest_missing : Mark::read_back_sample_missing);
    if (walking) {
        parcel.lost = true;
        put_off(parcel, true, false,
                parcel.withheld ? "the clinic no longer holds what it had confirmed"
                                : "the clinic lost what it had confirmed; it is sent again");
    } else if (!waits_anyway(parcel)) {
        set_aside(parcel, "the clinic confirmed this but no longer holds it; it was not put back");
    }
    return next_job(now);
}

}  // namespace nightferry::sync
