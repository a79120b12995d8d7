#include "daemon/care/adherence.hpp"

#include <algorithm>

#include "daemon/care/calendar.hpp"

namespace nightferry::care {

namespace {

using std::chrono::microseconds;

// Nothing farther from the period than this has to do with it: a dose lies at most a day from its slot.
constexpr std::chrono::days margin{2};

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
          const entry::Household& household, const AdherenceLimits& limits, const OrderLimits& order_limits)
        : timeline_(timeline),
          from_(from),
          to_(to),
          home_(home),
          household_(household),
          limits_(limits),
          order_limits_(order_limits) {}

    std::optional<Adherence> result() {
        const auto due = [](const SlotRecord& record) { return record.slot.due.at; };
        for (const SlotRecord& record : around(timeline_.slots, due)) {
            if (in_period(record.slot.due.at)) count_slot(record);
        }
        const auto given = [](const DoseRecord& dose) { return dose.given.at; };
        for (const DoseRecord& dose : around(timeline_.doses, given)) {
            const Instant counts_at = dose.slot ? timeline_.slots[*dose.slot].slot.due.at : dose.given.at;
            if (in_period(counts_at)) count_dose(dose, counts_at);
        }
        count_days();
        count_gaps();
        found_.provisional = std::ranges::count_if(timeline_.provisional,
                                                   [&](const GivenDose& dose) { return in_period(dose.at); });
        found_.deviation_median = median_of(std::move(deviations_));
        return too_long_ ? std::nullopt : std::optional(std::move(found_));
    }

 private:
    struct Daily {
        int ordered = 0;
        int given = 0;
        bool open = false;  // A slot is still due.
    };

    // Those of a rising list that lie in the period or near it.
    template <class T, class At>
    std::span<const T> around(const std::vector<T>& all, At at) const {
        const auto first = std::ranges::lower_bound(all, from_ - margin, {}, at);
        const auto last = std::ranges::lower_bound(all, to_ + margin, {}, at);
        return {first, std::max(first, last)};
    }

    bool in_period(Instant at) const { return from_ <= at && at < to_; }

    void add_content(const std::string& medicine, const DoseSize& size, Decimal Content::*sum) {
        Content& content = found_.contents[medicine];
        content.unit = size.unit;
        const auto more = add(content.*sum, size.content);
        too_long_ = too_long_ || !more;
        if (more) content.*sum = *more;
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
            case SlotFate::undecided:
                ++found_.undecided;
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
        add_content(record.medicine, record.ordered, &Content::ordered);
    }

    void count_dose(const DoseRecord& dose, Instant counts_at) {
        ++found_.taken.n;
        ++found_.by_carer[dose.given.by].given;
        ++days_[day_of(home_, counts_at)].given;
        add_content(dose.given.medicine, dose.given.size, &Content::given);
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
        const bool is_near = size <= limits_.near;
        const bool is_as_ordered = matches_order(dose, timeline_.slots[*dose.slot]);
        ++found_.slots_filled.n;
        found_.near_time.n += is_near ? 1 : 0;
        found_.wide_time.n += size <= limits_.wide ? 1 : 0;
        ++found_.timings[dose.timing];
        found_.deviation_sum += deviation;
        found_.deviation_size_sum += size;
        deviations_.push_back(deviation);
        CarerFigures& carer = found_.by_carer[dose.given.by];
        for (Share* share : {&found_.ordered_amount, &carer.ordered_amount}) {
            ++share->of;
            share->n += is_as_ordered ? 1 : 0;
        }
        ++carer.near_time.of;
        carer.near_time.n += is_near ? 1 : 0;
    }

    bool matches_order(const DoseRecord& dose, const SlotRecord& record) const {
        const entry::Medicine* medicine = household_.medicine(record.medicine);
        if (medicine == nullptr || dose.given.medicine != record.medicine) return false;
        const auto check = compare_amounts(dose.given.amount, {record.ordered.content, record.ordered.unit},
                                           *medicine, order_limits_);
        return check.verdict == AmountVerdict::match;
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
        const auto due = [](const SlotRecord& record) { return record.slot.due.at; };
        for (auto next = std::ranges::upper_bound(timeline_.slots, after, {}, due);
             next != timeline_.slots.end() && due(*next) < before; ++next) {
            if (next->fate == SlotFate::held) return true;
        }
        return false;
    }

    // A gap belongs to the period of the dose that ends it, so that every gap belongs to one.
    void take_dose_before() {
        if (given_.empty()) return;
        const auto at = [](const DoseRecord& dose) { return dose.given.at; };
        const auto first = std::ranges::lower_bound(timeline_.doses, given_.front(), {}, at);
        if (first != timeline_.doses.begin()) given_.insert(given_.begin(), std::prev(first)->given.at);
    }

    void count_gaps() {
        take_dose_before();
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
    const entry::Household& household_;
    const AdherenceLimits& limits_;
    const OrderLimits& order_limits_;
    Adherence found_;
    std::map<std::chrono::local_days, Daily> days_;
    std::vector<Instant> given_;
    std::vector<microseconds> deviations_;
    bool too_long_ = false;
};

}  // namespace

std::optional<Decimal> Content::percent() const {
    const auto hundredfold = multiply(given, Decimal(100, 0));
    return hundredfold ? divide(*hundredfold, ordered, 1, Rounding::half_up) : std::nullopt;
}

std::optional<Adherence> adherence_of(const Timeline& timeline, Instant from, Instant to, const Zone& home,
                                      const entry::Household& household, const AdherenceLimits& limits,
                                      const OrderLimits& order_limits) {
    return Tally(timeline, from, to, home, household, limits, order_limits).result();
}

}  // namespace nightferry::care
