// The part of SyncMachine that decides what the clinic's answers mean.
#include <algorithm>
#include <cassert>

#include "daemon/core/overloaded.hpp"
#include "daemon/sync/machine.hpp"

namespace nightferry::sync {

using logbook::Parcel;
using logbook::Settlement;

namespace {

constexpr int lookups_max = 3;  // Of one parcel in one pass; then its state cannot be settled.

}  // namespace

Action SyncMachine::on_reply(const Reply& reply, Instant now) {
    assert(phase_ == Phase::working && !jobs_.empty());
    const Fate fate =
        std::visit(Overloaded{
                       [&](const BundleJob& job) { return fate_of(reply, JobBuilder::purpose(job)); },
                       [&](const LookupJob&) { return fate_of(reply, Purpose::search); },
                   },
                   jobs_.front());
    if (fate == Fate::retry) return retry_later(reply, now);
    if (fate == Fate::stop) return stop_pass(words_for(reply), now);
    Job job = std::move(jobs_.front());
    jobs_.pop_front();
    return std::visit(Overloaded{
                          [&](BundleJob& bundle) { return on_bundle_reply(bundle, reply, now); },
                          [&](LookupJob& lookup) { return on_lookup_reply(lookup, reply, now); },
                      },
                      job);
}

Action SyncMachine::on_bundle_reply(BundleJob& job, const Reply& reply, Instant now) {
    const auto& answer = std::get<HttpAnswer>(reply);
    const Fate fate = fate_of(reply, JobBuilder::purpose(job));
    const bool alone = job.loads.size() == 1;
    if (fate == Fate::refuse || (fate == Fate::look && answer.status != 202)) {
        if (!alone) {
            // Perhaps it was too large; a moved version says nothing about that.
            if (fate == Fate::refuse) limit_ = std::max<std::size_t>(1, job.loads.size() / 2);
            split(std::move(job));
        } else if (fate == Fate::refuse) {
            set_aside(job.loads.front().parcel, words_for(reply));
            note_progress();
            // The refusals on the way here are explained by this one, not by the size.
            limit_ = policy_.deliveries_per_bundle_max;
        } else {
            jobs_.push_front(LookupJob{std::move(job.loads.front())});
        }
        return next_job(now);
    }
    std::vector<LoadAnswer> answers = builder_.read(job, answer);
    std::string not_now;
    for (std::size_t i = 0; i < job.loads.size(); ++i) {
        Load& load = job.loads[i];
        LoadAnswer& one = answers[i];
        switch (one.fate) {
            case Fate::done:
                confirm(load.parcel, *one.location, one.status, now);
                settlements_.back().words = one.words;
                break;
            case Fate::look:
                jobs_.push_back(LookupJob{std::move(load)});
                break;
            case Fate::retry:
                not_now = "for a part of what was sent " + words_for(one.status, one.words);
                put_off(load.parcel, true, true, not_now);
                break;
            case Fate::refuse:
            case Fate::stop:
                set_aside(load.parcel, words_for(one.status, one.words));
                note_progress();
                break;
        }
    }
    // What the server put off must not come back at once.
    if (!not_now.empty()) {
        give_back(false, false, {});
        back_off(std::move(not_now), {}, now);
    }
    return next_job(now);
}

Action SyncMachine::on_lookup_reply(LookupJob& job, const Reply& reply, Instant now) {
    Load& load = job.load;
    const auto& answer = std::get<HttpAnswer>(reply);
    if (fate_of(reply, Purpose::search) != Fate::done) {
        set_aside(load.parcel, words_for(reply));
        return next_job(now);
    }
    if (++load.lookups > lookups_max) {
        set_aside(load.parcel,
                  "the clinic's answers contradict each other; what it holds could not be settled");
        return next_job(now);
    }
    const Holding holding = builder_.read(job, answer);
    switch (holding.kind) {
        case Holding::Kind::absent:
            if (load.parcel.receipt) {
                set_aside(
                    load.parcel,
                    "the clinic confirmed an earlier revision but no longer holds it; it was not put back");
            } else {
                load.replace.reset();
                jobs_.push_front(BundleJob{{std::move(load)}});
            }
            break;
        case Holding::Kind::up_to_date:
            confirm(load.parcel, *holding.location, answer.status, now);
            break;
        case Holding::Kind::ours_older:
            load.replace = Replace{holding.location->id, holding.location->version};
            jobs_.push_front(BundleJob{{std::move(load)}});
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
            jobs_.push_front(std::move(job));
            return retry_later(
                // It may be this very entry; the others go first next time.
                NoAnswer{NoAnswer::Reached::perhaps, "the clinic's answer to a search cannot be read"}, now);
    }
    return next_job(now);
}

void SyncMachine::confirm(const Parcel& parcel, const fhir::exchange::Location& location, int status,
                          Instant now) {
    const logbook::Receipt receipt{parcel.wanted.revision, location.type, location.id,
                                   location.version,       status,        now};
    // Findings that were taken together with their dose but travel behind it can name its place now.
    const auto tell = [&](Load& load) {
        const auto* finding = std::get_if<entry::Finding>(&load.parcel.wanted.content.what);
        if (finding != nullptr && finding->dose == parcel.id) load.parcel.dose_receipt = receipt;
    };
    for (Job& job : jobs_) {
        std::visit(
            Overloaded{
                [&](BundleJob& bundle) { std::for_each(bundle.loads.begin(), bundle.loads.end(), tell); },
                [&](LookupJob& lookup) { tell(lookup.load); },
            },
            job);
    }
    settlements_.push_back(
        {parcel.id, parcel.wanted.revision, Settlement::Fate::confirmed, receipt, false, false, {}});
    ++state_.pass_confirmed;
    note_progress();
}

void SyncMachine::set_aside(const Parcel& parcel, std::string words) {
    settlements_.push_back(
        {parcel.id, parcel.wanted.revision, Settlement::Fate::set_aside, {}, false, false, std::move(words)});
    ++state_.pass_set_aside;
}

void SyncMachine::put_off(const Parcel& parcel, bool may_have_arrived, bool to_the_back, std::string words) {
    settlements_.push_back({parcel.id,
                            parcel.wanted.revision,
                            Settlement::Fate::again,
                            {},
                            may_have_arrived,
                            to_the_back,
                            std::move(words)});
}

}  // namespace nightferry::sync
