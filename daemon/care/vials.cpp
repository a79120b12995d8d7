#include "daemon/care/vials.hpp"

#include <algorithm>
#include <cassert>
#include <map>
#include <set>
#include <utility>

#include "daemon/care/calendar.hpp"
#include "daemon/care/slots.hpp"

namespace nightferry::care {

namespace {

using std::chrono::days;
using std::chrono::microseconds;
using LocalDay = std::chrono::local_days;

// A vial, with what each draw is judged by.
struct Followed {
    VialState state;
    Decimal loss_ml;
    Instant days_end;
    std::optional<Instant> printed_end;
};

Followed opened(const OpenedVial& vial, const VialRules& rules, const Zone& home) {
    Followed followed{{}, rules.loss_per_draw_ml, end_of_use(vial.at, rules, home), std::nullopt};
    if (vial.expires) followed.printed_end = end_of_expiry(*vial.expires, home);
    VialState& state = followed.state;
    state.opened_by = vial.id;
    state.label = vial.label;
    state.medicine = vial.medicine;
    state.opened = vial.at;
    state.lot = vial.lot;
    state.volume_ml = vial.volume_ml;
    state.left_ml = vial.volume_ml;
    state.is_expiry = followed.printed_end && *followed.printed_end < followed.days_end;
    state.usable_until = state.is_expiry ? *followed.printed_end : followed.days_end;
    const bool ends_within_a_day = !state.is_expiry && rules.counting == DayCount::from_opening;
    state.discard_on = std::chrono::year_month_day{
        day_of(home, state.usable_until - microseconds{ends_within_a_day ? 0 : 1})};
    return followed;
}

// Counts a draw; false, and nothing counted, when a sum gets too long.
bool draw(const GivenDose& dose, Followed& vial) {
    VialState& state = vial.state;
    const bool same_medicine = dose.medicine == state.medicine;
    const auto injected = add(state.injected_ml, dose.size.ml);
    const auto lost = add(state.lost_ml, vial.loss_ml);
    const auto content = same_medicine ? add(state.content_given, dose.size.content) : state.content_given;
    if (!injected || !lost || !content) return false;
    std::optional<Decimal> left;
    if (state.volume_ml) {
        const auto taken = add(*injected, *lost);
        if (taken) left = subtract(*state.volume_ml, *taken);
        if (!left) return false;
    }
    state.injected_ml = *injected;
    state.lost_ml = *lost;
    state.content_given = *content;
    state.left_ml = left;
    ++state.draws;
    state.draws_after_end += dose.at >= state.usable_until ? 1 : 0;
    return true;
}

// Walks along the doses and opens the vials in between.
class Follower {
 public:
    Follower(std::span<const OpenedVial> vials, std::span<const VialRulesOf> rules, const Zone& home)
        : vials_(vials), rules_(rules), home_(home) {
        followed_.reserve(vials.size());
    }

    void take(const GivenDose& dose) {
        while (followed_.size() < vials_.size() && vials_[followed_.size()].at <= dose.at)
            open_next();
        if (!dose.vial) {
            if (medicines_.contains(dose.medicine)) note(VialConcern::not_named, dose);
            return;
        }
        const auto latest = latest_.find(*dose.vial);
        if (latest == latest_.end()) {
            note(VialConcern::unknown, dose);
        } else {
            take_from(followed_[latest->second], dose);
        }
    }

    VialBook book() && {
        while (followed_.size() < vials_.size())
            open_next();
        for (Followed& vial : followed_)
            book_.vials.push_back(std::move(vial.state));
        return std::move(book_);
    }

 private:
    void open_next() {
        const OpenedVial& vial = vials_[followed_.size()];
        latest_[vial.label] = followed_.size();
        medicines_.insert(vial.medicine);
        followed_.push_back(opened(vial, rules_for(vial.medicine, rules_), home_));
    }

    void take_from(Followed& vial, const GivenDose& dose) {
        if (dose.medicine != vial.state.medicine) note(VialConcern::other_medicine, dose);
        if (dose.at >= vial.days_end) note(VialConcern::after_in_use, dose, vial.days_end);
        if (vial.printed_end && dose.at >= *vial.printed_end)
            note(VialConcern::after_expiry, dose, vial.printed_end);
        const bool is_counted = draw(dose, vial);
        const bool below_zero = vial.state.left_ml && *vial.state.left_ml < Decimal();
        if (!is_counted || below_zero) note(VialConcern::overdrawn, dose);
    }

    void note(VialConcern concern, const GivenDose& dose, std::optional<Instant> limit = std::nullopt) {
        book_.notes.push_back({concern, dose.id, dose.vial.value_or(""), limit});
    }

    const std::span<const OpenedVial> vials_;
    const std::span<const VialRulesOf> rules_;
    const Zone& home_;
    std::vector<Followed> followed_;                  // Of the first vials, as many as are open.
    std::map<std::string_view, std::size_t> latest_;  // By label.
    std::set<std::string_view> medicines_;
    VialBook book_;
};

// What a coming dose takes from a vial; nothing when it is too long for a Decimal.
std::optional<Decimal> need_of(const ComingDose& dose, std::span<const VialRulesOf> rules) {
    return add(dose.ml, rules_for(dose.medicine, rules).loss_per_draw_ml);
}

// The vials of one medicine. Those that can give nothing any more are passed over for good, or time would
// grow with the number of vials times that of doses.
class Shelf {
 public:
    void put(const Decimal& left_ml, Instant usable_until) { stocks_.push_back({left_ml, usable_until}); }

    // No dose will take less than what was expected.
    void expect(const Decimal& need_ml) {
        if (!least_ml_ || need_ml < *least_ml_) least_ml_ = need_ml;
    }

    // What is left in the first vial that covers it; nothing when none does. The times of doses rise.
    std::optional<Decimal> take(Instant due, const Decimal& need_ml) {
        while (first_ < stocks_.size() && is_done(stocks_[first_], due))
            ++first_;
        for (std::size_t i = first_; i < stocks_.size(); ++i) {
            if (due >= stocks_[i].usable_until) continue;
            const auto left = subtract(stocks_[i].left_ml, need_ml);
            if (!left || *left < Decimal()) continue;
            stocks_[i].left_ml = *left;
            return left;
        }
        return std::nullopt;
    }

 private:
    struct Stock {
        Decimal left_ml;
        Instant usable_until;
    };

    bool is_done(const Stock& stock, Instant due) const {
        return due >= stock.usable_until || stock.left_ml < least_ml_;
    }

    std::vector<Stock> stocks_;
    std::size_t first_ = 0;
    std::optional<Decimal> least_ml_;
};

}  // namespace

const VialRules& rules_for(std::string_view medicine, std::span<const VialRulesOf> rules) {
    static const VialRules usual;
    const auto named = std::ranges::find(rules, medicine, &VialRulesOf::medicine);
    return named == rules.end() ? usual : named->rules;
}

Instant end_of_use(Instant opened, const VialRules& rules, const Zone& home) {
    const days in_use{rules.in_use_days};
    if (rules.counting == DayCount::opening_is_day_one) return start_of(home, day_of(home, opened) + in_use);
    const auto clock = clock_at(home, opened);
    const auto second = std::chrono::floor<std::chrono::seconds>(clock);
    return meant_by(home, second + in_use).at + (clock - second);
}

std::optional<Instant> end_of_expiry(std::string_view printed, const Zone& home) {
    constexpr std::size_t month_size = 7;
    const bool is_month = printed.size() == month_size;
    const std::string first_or_only = std::string(printed) + (is_month ? "-01" : "");
    const auto date = parse_date(first_or_only, DateForm::year_month_day);
    if (!date || first_or_only[4] != '-') return std::nullopt;
    const LocalDay next = is_month ? LocalDay{*date + std::chrono::months{1}} : LocalDay{*date} + days{1};
    return start_of(home, next);
}

VialBook follow_vials(std::span<const OpenedVial> vials, std::span<const GivenDose> doses,
                      std::span<const VialRulesOf> rules, const Zone& home) {
    assert(std::ranges::is_sorted(vials, {}, &OpenedVial::at));
    assert(std::ranges::is_sorted(doses, {}, &GivenDose::at));
    Follower follower(vials, rules, home);
    for (const GivenDose& dose : doses)
        follower.take(dose);
    return std::move(follower).book();
}

Forecast forecast(const VialBook& book, std::span<const ComingDose> coming,
                  std::span<const VialRulesOf> rules) {
    assert(std::ranges::is_sorted(coming, {}, &ComingDose::due));
    std::map<std::string_view, Shelf> shelves;
    for (const VialState& vial : book.vials) {
        if (vial.left_ml) shelves[vial.medicine].put(*vial.left_ml, vial.usable_until);
    }
    for (const ComingDose& dose : coming) {
        if (const auto need_ml = need_of(dose, rules)) shelves[dose.medicine].expect(*need_ml);
    }
    Forecast found;
    for (const ComingDose& dose : coming) {
        const auto need_ml = need_of(dose, rules);
        const auto left = need_ml ? shelves[dose.medicine].take(dose.due, *need_ml) : std::nullopt;
        if (!left) {
            found.first_uncovered = dose.due;
            break;
        }
        ++found.doses_left;
        found.last_covered = dose.due;
        found.rest_ml = left;
    }
    return found;
}

}  // namespace nightferry::care
