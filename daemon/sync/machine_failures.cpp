// The part of SyncMachine that decides what is done when the clinic does not take something: waiting, giving
// back, and sending less at once.
#include <algorithm>

#include "daemon/core/overloaded.hpp"
#include "daemon/sync/backoff.hpp"
#include "daemon/sync/machine.hpp"
#include "daemon/sync/marks.hpp"

namespace nightferry::sync {

namespace {

// The clinic was reached and did not say that it is merely busy: perhaps it is this very entry that it cannot
// bear, so the others go first next time.
bool may_be_this_entry(const Reply& reply) {
    if (const auto* none = std::get_if<NoAnswer>(&reply)) return none->reached == NoAnswer::Reached::perhaps;
    return std::get<HttpAnswer>(reply).status != 429;
}

// It cannot be reached, or others say that it is not there; and not merely that a connection broke.
bool is_away(const Reply& reply) {
    if (const auto* none = std::get_if<NoAnswer>(&reply)) return none->reached != NoAnswer::Reached::perhaps;
    const int status = std::get<HttpAnswer>(reply).status;
    return status == 502 || status == 503 || status == 504;
}

// Perhaps it was too much at once, or one entry of it breaks the server; less at once helps with both.
bool may_be_too_much(const Reply& reply) {
    if (const auto* answer = std::get_if<HttpAnswer>(&reply))
        return answer->status >= 500 && answer->status != 503;
    return std::get<NoAnswer>(reply).reached == NoAnswer::Reached::perhaps;
}

}  // namespace

Action SyncMachine::retry_later(const Reply& reply, Instant now) {
    const auto* write = jobs_.empty() ? nullptr : std::get_if<WriteJob>(&jobs_.front());
    if (write != nullptr && may_be_too_much(reply))
        limit_ = std::max<std::size_t>(1, write->loads.size() / 2);
    const bool is_write =
        write != nullptr || (!jobs_.empty() && std::holds_alternative<ProvenanceJob>(jobs_.front()));
    const bool acted = is_write && may_have_acted(reply);
    const std::string words = words_for(reply);
    give_back(acted, may_be_this_entry(reply), words);
    const auto* answer = std::get_if<HttpAnswer>(&reply);
    const auto asked = answer == nullptr ? std::nullopt : retry_after(*answer, now);
    // Otherwise the waits on a bad line would grow to silences, after which everything is read back anew.
    if (!is_away(reply) && is_further_read_back()) state_.failures = 0;
    back_off(words, asked.value_or(std::chrono::microseconds{0}), now);
    if (is_away(reply)) {
        // It may come back with an older state, however soon.
        trust_nothing_read_back();
    } else if (answer == nullptr && read_back_.is_over()) {
        reached(Mark::read_back_outlived_a_break);
    }
    return settle();
}

Action SyncMachine::wait_for_the_clinic(std::string words, Instant now) {
    quiet_kept_ = false;
    give_back(false, false, {});
    back_off(std::move(words), {}, now);
    return settle();
}

void SyncMachine::back_off(std::string words, std::chrono::microseconds at_least, Instant now) {
    ++state_.failures;
    probing_ = true;
    waits_for_quiet_ = false;
    const std::chrono::microseconds span = std::max(at_least, backoff(state_.failures, policy_, random_));
    state_.not_before = now + span;
    state_.words = std::move(words);
    wait_after_settling_ = span;
}

void SyncMachine::give_back(bool current_may_have_arrived, bool to_the_back, const std::string& words) {
    if (current_may_have_arrived) {
        quiet_kept_ = false;
        const auto* write = jobs_.empty() ? nullptr : std::get_if<WriteJob>(&jobs_.front());
        if (write != nullptr && builder_.is_unguarded(*write)) state_.unguarded = true;
    }
    bool current = true;
    const auto give = [&](const Load& load) {
        const bool may_have_arrived = (current && current_may_have_arrived) || load.place || load.was_written;
        put_off(load.parcel, may_have_arrived, current && to_the_back, current ? words : std::string());
    };
    const auto give_all = [&](const std::vector<Load>& loads) {
        std::for_each(loads.begin(), loads.end(), give);
    };
    for (const Job& job : jobs_) {
        if (checked_load(job) == nullptr) {
            std::visit(Overloaded{
                           [&](const WriteJob& write) { give_all(write.loads); },
                           [&](const ProvenanceJob& beside) { give_all(beside.loads); },
                           [&](const LookupJob& lookup) { give(lookup.load); },
                           [&](const ReadJob& read) { give(read.load); },
                       },
                       job);
        }
        current = false;
    }
    jobs_.clear();
}

void SyncMachine::split(WriteJob job) {
    reached(Mark::bundle_split);
    const std::size_t most = job.carrier == Carrier::single ? 1 : limit_;
    const std::size_t half = std::min(most, (job.loads.size() + 1) / 2);
    WriteJob first{{}, job.carrier};
    WriteJob second{{}, job.carrier};
    for (std::size_t i = 0; i < job.loads.size(); ++i)
        (i < half ? first : second).loads.push_back(std::move(job.loads[i]));
    if (!second.loads.empty()) jobs_.push_front(std::move(second));
    jobs_.push_front(std::move(first));
}

void SyncMachine::note_progress() {
    state_.failures = 0;
    probing_ = false;
    not_offered_in_a_row_ = 0;
    claim_tries_ = 0;
    furthest_ = 0;
}

bool SyncMachine::is_further_read_back() {
    if (read_back_.steps() <= furthest_) return false;
    furthest_ = read_back_.steps();
    return true;
}

void SyncMachine::note_too_much(std::size_t loads) {
    if (!before_refusal_) before_refusal_ = Before{limit_, ceiling_};
    limit_ = std::max<std::size_t>(1, loads / 2);
    ceiling_ = std::max<std::size_t>(1, std::min(ceiling_, loads - 1));
}

void SyncMachine::note_enough(std::size_t loads) {
    if (loads == limit_) limit_ = std::min(ceiling_, limit_ + std::max<std::size_t>(1, limit_ / 4));
}

void SyncMachine::note_culprit() {
    // The refusals on the way to it are explained by it, not by how much was sent at once.
    if (!before_refusal_) return;
    limit_ = before_refusal_->limit;
    ceiling_ = before_refusal_->ceiling;
    before_refusal_.reset();
}

// What fails in a server, or stands in for it, can do so while its data are being replaced.
void SyncMachine::note_presence(const Reply& reply, Instant now) {
    const auto* answer = std::get_if<HttpAnswer>(&reply);
    if (answer != nullptr && answer->status < 500) presence_.heard(now);
}

void SyncMachine::note_date(const Reply& reply, Instant now) {
    const auto* answer = std::get_if<HttpAnswer>(&reply);
    const auto date = answer == nullptr ? std::nullopt : date_of(*answer, now);
    if (!date) return;
    // It was written in some second between sending and now, unless a clock is wrong.
    constexpr std::chrono::seconds resolution{1};
    if (*date + resolution < sent_ && now >= sent_) {
        state_.skew = *date - sent_;
    } else if (*date > now) {
        state_.skew = *date - now;
    } else {
        state_.skew = std::chrono::microseconds{0};
    }
}

}  // namespace nightferry::sync
