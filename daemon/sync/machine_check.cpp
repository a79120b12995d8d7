// The part of SyncMachine that reads back what the clinic has confirmed.
#include "daemon/sync/machine.hpp"

namespace nightferry::sync {

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

Action SyncMachine::on_check(Load& load, const Holding& holding, Instant now) {
    const logbook::Parcel& parcel = load.parcel;
    const bool walking = read_back_.is_walking();
    switch (holding.kind) {
        case Holding::Kind::up_to_date:
        case Holding::Kind::changed:  // What people at the clinic did to it since is their affair.
        case Holding::Kind::several:
            read_back_.present(parcel.receipt->number, parcel.receipt->by_look);
            break;
        case Holding::Kind::absent:
        case Holding::Kind::ours_older:
            read_back_.missing(parcel.receipt->number);
            if (walking) {
                put_off(parcel, true, false, "the clinic lost what it had confirmed; it is sent again");
            } else {
                set_aside(parcel, "the clinic confirmed this but no longer holds it; it was not put back");
            }
            break;
        case Holding::Kind::deleted:
            read_back_.present(parcel.receipt->number, true);
            set_aside(parcel, "somebody at the clinic deleted what it had confirmed; it was not put back");
            break;
        default:
            // This clinic cannot be asked.
            read_back_.give_up();
            break;
    }
    // What was recalled besides need not be read any more.
    if (!read_back_.is_walking()) jobs_.clear();
    return next_job(now);
}

}  // namespace nightferry::sync
