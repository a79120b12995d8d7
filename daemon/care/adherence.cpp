#include "daemon/care/adherence.hpp"

#include <algorithm>

#include "daemon/care/order_check.hpp"

namespace nightferry::care {

namespace {

using std::chrono::microseconds;
using Day = std::chrono::local_days;

Day day_of(const Zone& home, Instant at) {
    return std::chrono::floor<std::chrono::days>(
        std::chrono::local_time<microseconds>{at.time_since_epoch() + home.at(at).offset});
}

microseconds size_of_span(microseconds span) {
    return span < microseconds{0} ? -span : span;
}

std::optional<microseconds> median_of(std::vector<microseconds> values) {
    if (values.empty()) return std::nullopt;
    std::ranges::sort(values);
    const std::size_t middle = values.size() / 2;
    if (values.size() % 2 == 1) return values[middle];
    return (values[middle - 1] + values[middle]) / 2;
}

// Collects the figures of one period in one walk over its slots and one over its doses.
class Tally {
 public:
    Tally(const Timeline& timeline, Instant from, Instant to, const Zone& home,
          const entry::Medicine& medicine, const AdherenceLimits& limits)
        : timeline_(timeline), from_(from), to_(to), home_(home), medicine_(medicine), limits_(limits) {}

    std::optional<Adherence> result() {
        for (const SlotRecord& record : timeline_.slots) {
            if (record.fate == SlotFate::held) held_.push_back(record.slot.due.at);
            if (in_period(record.slot.due.at)) count_slot(record);
        }
        for (const DoseRecord& dose : timeline_.doses) {
            const Instant counts_at = dose.slot ? timeline_.slots[*dose.slot].slot.due.at : dose.given.at;
            if (in_period(counts_at)) count_dose(dose, counts_at);
        }
        count_days();
        count_gaps();
        found_.deviation_median = median_of(std::move(deviations_));
        if (const auto hundredfold = multiply(found_.content_given, Decimal(100, 0)))
            found_.content_percent = divide(*hundredfold, found_.content_ordered, 1, Rounding::half_up);
        return too_long_ ? std::nullopt : std::optional(std::move(found_));
    }

 private:
    struct Daily {
        int ordered = 0;
        int given = 0;
        bool open = false;  // A slot is still due.
    };

    bool in_period(Instant at) const { return from_ <= at && at < to_; }

    void add_to(Decimal& sum, const Decimal& part) {
        const auto more = add(sum, part);
        too_long_ = too_long_ || !more;
        if (more) sum = *more;
    }

    void count_slot(const SlotRecord& record) {
        Daily& day = days_[day_of(home_, record.slot.due.at)];
        switch (record.fate) {
            case SlotFate::held:
                ++found_.held;
                return;
            case SlotFate::due:
                ++found_.due;
                day.open = true;
                return;
            case SlotFate::given:
                break;
            case SlotFate::missed:
                ++found_.missed;
                break;
            case SlotFate::no_record:
                ++found_.no_record;
                break;
        }
        ++day.ordered;
        for (Share* share : {&found_.taken, &found_.slots_filled, &found_.near_time, &found_.wide_time})
            ++share->of;
        add_to(found_.content_ordered, record.ordered.content);
    }

    void count_dose(const DoseRecord& dose, Instant counts_at) {
        ++found_.taken.n;
        ++found_.by_carer[dose.given.by];
        ++days_[day_of(home_, counts_at)].given;
        add_to(found_.content_given, dose.given.size.content);
        given_.push_back(dose.given.at);
        const microseconds lag = dose.given.recorded - dose.given.at;
        found_.longest_entry_lag = std::max(found_.longest_entry_lag.value_or(lag), lag);
        if (dose.slot) {
            count_filled(dose);
        } else {
            ++found_.extra;
        }
    }

    void count_filled(const DoseRecord& dose) {
        const microseconds deviation = timeline_.deviation_of(dose);
        const microseconds size = size_of_span(deviation);
        ++found_.slots_filled.n;
        found_.near_time.n += size <= limits_.near ? 1 : 0;
        found_.wide_time.n += size <= limits_.wide ? 1 : 0;
        ++found_.timings[dose.timing];
        found_.deviation_sum += deviation;
        found_.deviation_size_sum += size;
        deviations_.push_back(deviation);
        ++found_.ordered_amount.of;
        OrderLimits order_limits;
        order_limits.match_ml = limits_.match_ml;
        const auto check = compare_amounts(
            {dose.given.size.content, dose.given.size.unit},
            {timeline_.slots[*dose.slot].ordered.content, dose.given.size.unit}, medicine_, order_limits);
        found_.ordered_amount.n += check.verdict == AmountVerdict::match ? 1 : 0;
    }

    // A day on which everything was held and nothing given is as ordered.
    void count_days() {
        for (const auto& [day, daily] : days_) {
            if (daily.open) continue;
            ++found_.days_as_ordered.of;
            ++found_.days_covered.of;
            found_.days_as_ordered.n += daily.given == daily.ordered ? 1 : 0;
            found_.days_covered.n += daily.given >= daily.ordered ? 1 : 0;
        }
    }

    bool spans_held_slot(Instant after, Instant before) const {
        const auto next = std::ranges::upper_bound(held_, after);
        return next != held_.end() && *next < before;
    }

    void count_gaps() {
        for (std::size_t i = 1; i < given_.size(); ++i) {
            if (spans_held_slot(given_[i - 1], given_[i])) continue;
            const microseconds gap = given_[i] - given_[i - 1];
            ++found_.intervals.of;
            found_.intervals.n += gap >= limits_.gap_min && gap <= limits_.gap_max ? 1 : 0;
            found_.longest_gap = std::max(found_.longest_gap.value_or(gap), gap);
            if (gap > limits_.gap_max) found_.beyond_gap_max += gap - limits_.gap_max;
        }
    }

    const Timeline& timeline_;
    const Instant from_;
    const Instant to_;
    const Zone& home_;
    const entry::Medicine& medicine_;
    const AdherenceLimits& limits_;
    Adherence found_;
    std::map<Day, Daily> days_;
    std::vector<Instant> given_;
    std::vector<Instant> held_;
    std::vector<microseconds> deviations_;
    bool too_long_ = false;
};

}  // namespace

std::optional<Decimal> Share::percent() const {
    constexpr std::int64_t most = 9'999'999;
    if (of == 0 || n > most || of > most) return std::nullopt;
    return divide(Decimal(100 * n, 0), Decimal(of, 0), 1, Rounding::half_up);
}

std::optional<Adherence> adherence_of(const Timeline& timeline, Instant from, Instant to, const Zone& home,
                                      const entry::Medicine& medicine, const AdherenceLimits& limits) {
    return Tally(timeline, from, to, home, medicine, limits).result();
}

}  // namespace nightferry::care
