// The part of SyncMachine that settles what became of a delivery, once its Provenance is written too.
#include "daemon/core/overloaded.hpp"
#include "daemon/sync/machine.hpp"
#include "daemon/sync/marks.hpp"

namespace nightferry::sync {

using logbook::Parcel;
using logbook::Settlement;

void SyncMachine::write_provenance(Carrier carrier) {
    if (carrier == Carrier::batch && beside_.size() > 1) {
        jobs_.push_front(ProvenanceJob{std::exchange(beside_, {}), Carrier::batch});
        return;
    }
    for (Load& load : std::exchange(beside_, {}))
        jobs_.push_front(ProvenanceJob{{std::move(load)}, Carrier::single});
}

Action SyncMachine::on_provenance_reply(ProvenanceJob& job, const HttpAnswer& answer, Instant now) {
    std::vector<LoadAnswer> answers = builder_.read(job, answer);
    const bool is_unsure = answers.front().fate == Fate::retry;
    if (is_unsure && job.loads.front().parcel.attempts < attempts_for_provenance) {
        const NoAnswer none{NoAnswer::Reached::perhaps, answers.front().words};
        jobs_.push_front(std::move(job));
        return retry_later(none, now);
    }
    Manner& manner = builder_.manner();
    for (std::size_t i = 0; i < job.loads.size(); ++i) {
        Load& load = job.loads[i];
        const bool refused = answers[i].fate != Fate::done;
        if (refused) reached(Mark::provenance_refused);
        if (!load.refusal.empty() && manner.carrier == Carrier::transaction) {
            // What the transaction was refused for is its Provenance, or that it is one.
            if (refused) {
                reached(Mark::provenance_not_taken_at_all);
                manner.takes_provenance = false;
            } else {
                manner.carrier = Carrier::batch;
            }
        }
        confirm(load, std::move(answers[i].words), now);
    }
    return next_job(now);
}

void SyncMachine::confirm(const Load& load, std::string words, Instant now) {
    const Parcel& parcel = load.parcel;
    const fhir::exchange::Location& place = *load.place;
    logbook::Receipt receipt{parcel.wanted.revision, place.type, place.id, place.version, load.status, now};
    receipt.written = load.written;
    // Findings that were taken together with their dose but travel behind it can name its place now.
    const auto tell = [&](Load& other) {
        const auto* finding = std::get_if<entry::Finding>(&other.parcel.wanted.content.what);
        if (finding != nullptr && finding->dose == parcel.id) other.parcel.dose_receipt = receipt;
    };
    for (Job& job : jobs_) {
        std::visit(Overloaded{
                       [&](WriteJob& write) { std::for_each(write.loads.begin(), write.loads.end(), tell); },
                       [&](ProvenanceJob&) {},
                       [&](LookupJob& lookup) { tell(lookup.load); },
                       [&](ReadJob& read) { tell(read.load); },
                   },
                   job);
    }
    Settlement& settlement = settled(parcel, Settlement::Fate::confirmed, std::move(words));
    settlement.receipt = receipt;
    settlement.lost = false;
    ++state_.pass_confirmed;
    note_progress();
}

void SyncMachine::set_aside(const Parcel& parcel, std::string words) {
    settled(parcel, Settlement::Fate::set_aside, std::move(words));
    ++state_.pass_set_aside;
}

void SyncMachine::put_off(const Parcel& parcel, bool may_have_arrived, bool to_the_back, std::string words) {
    Settlement& settlement = settled(parcel, Settlement::Fate::again, std::move(words));
    settlement.outcome_unknown = may_have_arrived;
    settlement.to_the_back = to_the_back;
}

Settlement& SyncMachine::settled(const Parcel& parcel, Settlement::Fate fate, std::string words) {
    return settlements_.emplace_back(
        Settlement{parcel.id, parcel.wanted.revision, fate, {}, false, false, std::move(words), parcel.lost});
}

}  // namespace nightferry::sync
