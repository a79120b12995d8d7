#include "daemon/upkeep/upkeep.hpp"

#include <algorithm>
#include <map>

#include "daemon/care/calendar.hpp"
#include "daemon/care/summaries.hpp"
#include "daemon/entry/body.hpp"

namespace nightferry::upkeep {

namespace {

using care::Review;

// When the passing of time next changes what is known: a slot's late limit, or midnight.
Instant change_after(const Review& review, const care::Plan& plan, const Zone& home, Instant now) {
    Instant next = care::start_of(home, care::day_of(home, now) + std::chrono::days{1});
    for (const care::SlotRecord& record : review.timeline.slots) {
        if (record.fate != care::SlotFate::due) continue;
        next = std::min(next, record.slot.due.at + plan.timeline.match.late_max + std::chrono::seconds{1});
        break;
    }
    return std::max(next, now + std::chrono::seconds{1});
}

// The same content, whatever its id, author and times of writing.
std::string content_of(const entry::Entry& summary) {
    entry::Submission plain;
    plain.entry = summary;
    plain.entry->id = plain.id;
    return entry::essence(plain);
}

std::map<EntryId, const entry::Version*> newest_summaries(const logbook::PersonHistory& history) {
    std::map<EntryId, const entry::Version*> newest;
    for (const care::Revisions& revisions : history.entries) {
        const entry::Version& last = revisions.back();
        if (last.content.kind() == entry::Kind::summary) newest.emplace(last.content.id, &last);
    }
    return newest;
}

// Now, but not before what was accepted last: a clock that was put back a little does not undo what was
// known. After a greater jump the clock was wrong before, and what it dated counts from when it comes to be.
Instant as_of_now(const logbook::PersonHistory& history, Instant now) {
    constexpr std::chrono::hours little{26};
    Instant as_of = now;
    for (const care::Revisions& revisions : history.entries) {
        const Instant accepted = revisions.back().accepted;
        if (accepted > as_of && accepted - now <= little) as_of = accepted;
    }
    return as_of;
}

// The first day that has a summary already: it is kept up to date also when the record comes to begin later.
std::optional<std::chrono::local_days> first_summary(const logbook::PersonHistory& history) {
    std::optional<std::chrono::local_days> first;
    for (const care::Revisions& revisions : history.entries) {
        const auto* summary = std::get_if<entry::Summary>(&revisions.back().content.what);
        if (summary == nullptr) continue;
        const std::chrono::local_days day{summary->first};
        first = std::min(first.value_or(day), day);
    }
    return first;
}

}  // namespace

const care::Plan* Upkeep::plan_of(const std::string& person) const {
    const auto found = std::ranges::find(plans_, person, &care::Plan::person);
    return found == plans_.end() ? nullptr : &*found;
}

void Upkeep::doubt_clock(const std::string& clinic, bool in_doubt) {
    if (in_doubt) {
        doubting_.insert(clinic);
    } else if (doubting_.erase(clinic) > 0) {
        next_change_.reset();
    }
}

Result<void> Upkeep::catch_up(Summaries summaries) {
    const Instant now = clock_.now();
    if (plans_.empty()) return {};
    if (is_clock_in_doubt()) {
        constexpr std::chrono::minutes another_look{15};
        next_change_ = now + another_look;
        return {};
    }
    const bool make = summaries == Summaries::made;
    const bool nothing_new =
        seen_additions_ == logbook_.additions() && seen_at_clinics_ == changes_at_clinics();
    const bool clock_went_on = seen_now_ <= now;
    const bool is_done = nothing_new && clock_went_on && next_change_ && now < *next_change_;
    if (is_done && !(make && summaries_are_behind_)) return {};
    seen_now_ = now;
    summaries_are_behind_ = !make;
    next_change_.reset();
    for (const care::Plan& plan : plans_) {
        const auto done = catch_up(plan, summaries, now);
        if (!done) return done.error();
    }
    seen_additions_ = logbook_.additions();
    seen_at_clinics_ = changes_at_clinics();
    return {};
}

Result<void> Upkeep::catch_up(const care::Plan& plan, Summaries summaries, Instant now) {
    const auto history = logbook_.history(plan.person);
    if (!history) return history.error();
    const Instant as_of = as_of_now(*history, now);
    const auto computed = review_in(plan, *history, {as_of, as_of}, as_of);
    if (!computed) return computed.error();
    const Review& review = *computed;
    if (summaries == Summaries::made) {
        const auto kept = keep_summaries(review, plan, *history, now);
        if (!kept) return kept.error();
    }
    const auto known = flags_.history(plan.person);
    if (!known) return known.error();
    const auto noted = flags_.add(plan.person, care::changes_of(*known, review.flags, now));
    if (!noted) return noted.error();
    const Instant next = change_after(review, plan, household_.zone, now);
    next_change_ = std::min(next_change_.value_or(next), next);
    return {};
}

Result<void> Upkeep::keep_summaries(const Review& review, const care::Plan& plan,
                                    const logbook::PersonHistory& history, Instant now) {
    const auto newest = newest_summaries(history);
    std::vector<logbook::Arrival> arrivals;
    for (entry::Entry& summary : care::summaries_of(review, plan, household_, first_summary(history))) {
        summary.id = household_.ids().id_for(care::name_of_summary(summary));
        const auto known = newest.find(summary.id);
        if (known != newest.end() && content_of(known->second->content) == content_of(summary)) continue;
        entry::Submission submission;
        submission.action = known == newest.end() ? entry::Action::record : entry::Action::amend;
        submission.id = summary.id;
        // The clock may have been put back; a newer summary must still be the one in effect.
        const Instant after_last =
            known == newest.end() ? now : known->second->recorded().at + std::chrono::seconds{1};
        submission.recorded = household_.zone.at(std::max(now, after_last));
        submission.entry = std::move(summary);
        arrivals.push_back({std::move(submission), "hub", clinics_for_(plan.person)});
    }
    if (arrivals.empty()) return {};
    const auto verdicts = logbook_.accept(arrivals, now);
    if (!verdicts) return verdicts.error();
    return {};
}

Result<Review> Upkeep::review(const care::Plan& plan, const care::Period& period, Instant known_at) {
    const auto history = logbook_.history(plan.person);
    if (!history) return history.error();
    return review_in(plan, *history, period, known_at);
}

Result<std::vector<care::OrdersRead>> Upkeep::orders(const std::string& person, Instant known_at) {
    if (orders_ == nullptr) return std::vector<care::OrdersRead>();
    return orders_->read(person, known_at);
}

Result<Review> Upkeep::review_in(const care::Plan& plan, const logbook::PersonHistory& history,
                                 const care::Period& period, Instant known_at) {
    care::Known known = care::known_at(history.entries, household_, known_at);
    known.unreadable.insert(known.unreadable.end(), history.unreadable.begin(), history.unreadable.end());
    auto ordered = orders(plan.person, known_at);
    if (!ordered) return ordered.error();
    known.orders = std::move(*ordered);
    auto without = left_out(plan.person, known_at);
    if (!without) return without.error();
    known.left_out = std::move(*without);
    return care::review_of_known(plan, household_, std::move(known), period, known_at);
}

Result<std::vector<care::LeftOut>> Upkeep::left_out(const std::string& person, Instant known_at) {
    if (patients_ == nullptr) return std::vector<care::LeftOut>();
    return patients_->left_out(person, known_at);
}

std::int64_t Upkeep::changes_at_clinics() const {
    return (orders_ == nullptr ? 0 : orders_->changes()) + (patients_ == nullptr ? 0 : patients_->changes());
}

Result<bool> Upkeep::settle(const std::string& person, const std::string& key, const std::string& by,
                            const std::string& words) {
    const auto history = flags_.history(person);
    if (!history) return history.error();
    if (!care::is_open(*history, key)) return false;
    care::FlagEvent event = history->at(key).back();
    event.what = care::FlagEventKind::settled;
    event.at = clock_.now();
    event.by = by;
    event.words = words;
    const auto added = flags_.add(person, std::span(&event, 1));
    if (!added) return added.error();
    return true;
}

}  // namespace nightferry::upkeep
