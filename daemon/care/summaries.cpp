#include "daemon/care/summaries.hpp"

#include <algorithm>

#include "daemon/care/calendar.hpp"
#include "daemon/entry/vocabulary.hpp"

namespace nightferry::care {

namespace {

using entry::Count;
using entry::Summary;
using std::chrono::days;
using std::chrono::local_days;

std::map<Count, std::int64_t> counts_of(const Adherence& figures) {
    const auto timing = [&](Timing which) {
        const auto found = figures.timings.find(which);
        return found == figures.timings.end() ? 0 : found->second;
    };
    return {{Count::ordered, figures.slots_filled.of},
            {Count::given, figures.taken.n},
            {Count::filled, figures.slots_filled.n},
            {Count::on_time, timing(Timing::on_time)},
            {Count::early, timing(Timing::early)},
            {Count::late, timing(Timing::late)},
            {Count::very_late, timing(Timing::very_late)},
            {Count::missed, figures.missed},
            {Count::no_record, figures.no_record},
            {Count::held, figures.held},
            {Count::extra, figures.extra},
            {Count::undecided, figures.undecided},
            {Count::provisional, figures.provisional},
            {Count::near_time, figures.near_time.n},
            {Count::wide_time, figures.wide_time.n},
            {Count::as_ordered_amount, figures.ordered_amount.n},
            {Count::days, figures.days_as_ordered.of},
            {Count::days_as_ordered, figures.days_as_ordered.n}};
}

class Summarizer {
 public:
    Summarizer(const Review& review, const Plan& plan, const entry::Household& household,
               std::optional<local_days> since)
        : review_(review), plan_(plan), household_(household), since_(since) {}

    std::vector<entry::Entry> all() {
        const auto& slots = review_.timeline.slots;
        if (slots.empty()) return {};
        local_days first = day_of(household_.zone, slots.front().slot.due.at);
        if (since_) first = std::min(first, *since_);
        const local_days today = day_of(household_.zone, review_.known_at);
        const local_days end = after_last_slot(today);
        for (local_days day = first; day < today; day += days{1}) {
            if (day >= end && !anything_given(day)) continue;
            if (!add(entry::SummaryOf::day, day, day)) break;
            const local_days monday = monday_of(day);
            if (day == monday + days{6} && monday >= first && monday < end)
                add(entry::SummaryOf::week, monday, day);
        }
        return std::move(summaries_);
    }

 private:
    // The day after the last one that may have a slot.
    local_days after_last_slot(local_days today) const {
        if (!plan_.regimen.end) return today;
        const Instant last_moment = *plan_.regimen.end - std::chrono::microseconds{1};
        return std::min(today, day_of(household_.zone, last_moment) + days{1});
    }

    bool anything_given(local_days day) const {
        const auto at = [](const auto& dose) { return dose.at; };
        const Instant from = start_of(household_.zone, day);
        const auto first = std::ranges::lower_bound(review_.known.doses, from, {}, at);
        return first != review_.known.doses.end() && first->at < start_of(household_.zone, day + days{1});
    }

    // False when a slot of it is still due.
    bool add(entry::SummaryOf of, local_days first, local_days last) {
        const Zone& home = household_.zone;
        const Period period{start_of(home, first), start_of(home, last + days{1})};
        const auto figures = adherence_of(review_.timeline, period.from, period.to, home, household_,
                                          plan_.adherence, plan_.order);
        if (!figures) return true;
        if (figures->due > 0) return false;
        Summary summary{of,
                        std::chrono::year_month_day{first},
                        std::chrono::year_month_day{last},
                        home.at(period.from),
                        counts_of(*figures),
                        {},
                        plan_.timeline.timing.on_time,
                        plan_.timeline.timing.late,
                        plan_.adherence.near,
                        plan_.adherence.wide};
        for (const auto& [medicine, content] : figures->contents)
            summary.contents.push_back({medicine, content.given, content.ordered});
        entry::Entry entry;
        entry.person = plan_.person;
        entry.time = home.at(period.to);
        entry.what = std::move(summary);
        summaries_.push_back(std::move(entry));
        return true;
    }

    const Review& review_;
    const Plan& plan_;
    const entry::Household& household_;
    const std::optional<local_days> since_;
    std::vector<entry::Entry> summaries_;
};

}  // namespace

std::vector<entry::Entry> summaries_of(const Review& review, const Plan& plan,
                                       const entry::Household& household, std::optional<local_days> since) {
    return Summarizer(review, plan, household, since).all();
}

std::string name_of_summary(const entry::Entry& summary) {
    const auto& what = std::get<Summary>(summary.what);
    return "summary|" + summary.person + "|" + std::string(entry::word_for(what.of)) + "|" +
           to_text(what.first);
}

}  // namespace nightferry::care
