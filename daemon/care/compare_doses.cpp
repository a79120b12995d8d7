#include "daemon/care/compare_doses.hpp"

#include <algorithm>
#include <set>

#include "daemon/care/fact_words.hpp"
#include "daemon/core/words.hpp"
#include "daemon/entry/vocabulary.hpp"

namespace nightferry::care {

namespace {

using Lines = std::vector<const OrderedDose*>;

bool has_ended(const OrderedDose& dose, Instant at) {
    return dose.until && *dose.until <= at;
}

std::string clocks_text(const std::vector<std::chrono::minutes>& clocks) {
    std::vector<std::string> texts;
    for (const auto clock : clocks)
        texts.push_back(time_of_day_words(clock));
    const std::vector<std::string_view> views(texts.begin(), texts.end());
    return all_of(views);
}

std::string amount_text(const entry::Amount& amount, const entry::Medicine& medicine) {
    const auto size = size_of(amount, medicine);
    return size ? amount_words(amount, *size) : content_words(amount.value, amount.unit);
}

class Doses {
 public:
    Doses(std::vector<ElementCheck>& checks, const std::vector<const ClinicOrder*>& orders,
          const ComparedWith& with)
        : checks_(checks), orders_(orders), with_(with) {}

    void compare() {
        for (const ClinicOrder* order : orders_) {
            if (order->is_prohibition)
                add(OrderElement::instructions, Agreement::differs,
                    "the order says that this medicine is not to be given");
            if (order->has_unknown_modifier)
                return neither("the order bears something that turns its meaning and that is not known here");
            if (order->is_prohibition) return;
        }
        for (const ClinicOrder* order : orders_)
            strength(*order);
        if (!lines_in_force()) return;
        times();
        amounts();
        besides();
    }

 private:
    void add(OrderElement element, Agreement agreement, std::string words) {
        checks_.push_back({element, agreement, std::move(words)});
    }
    // What could be compared with each other, but is not, for one reason.
    void neither(const std::string& words) {
        add(OrderElement::amount, Agreement::not_comparable, words);
        add(OrderElement::times, Agreement::not_comparable, words);
    }

    void strength(const ClinicOrder& order) {
        const std::string ours = content_words(with_.medicine.strength, with_.medicine.strength_unit) + "/mL";
        if (!order.strength) {
            const std::string told = order.strength_words.empty() ? "the order does not tell it"
                                                                  : "the order says " + order.strength_words;
            return add(OrderElement::strength, Agreement::not_comparable,
                       told + "; the settings have " + ours);
        }
        const bool is_same = order.strength->unit == with_.medicine.strength_unit &&
                             order.strength->value == with_.medicine.strength;
        has_other_strength_ = has_other_strength_ || !is_same;
        add(OrderElement::strength, is_same ? Agreement::agrees : Agreement::differs,
            is_same ? ours : "the order says " + order.strength_words + ", the settings have " + ours);
    }

    // Gathers what counts now; false when there is nothing of which that can be said.
    bool lines_in_force() {
        bool are_steps = false;
        for (const ClinicOrder* order : orders_) {
            const Instant when = reference_time(*order, with_.at);
            std::set<std::string> sequences;
            for (const OrderedDose& dose : order->doses) {
                if (has_ended(dose, when) || (dose.from && *dose.from > when)) continue;
                lines_.push_back(&dose);
                sequences.insert(dose.sequence);
            }
            are_steps = are_steps || sequences.size() > 1;
        }
        const bool tells_any =
            std::ranges::any_of(orders_, [](const ClinicOrder* order) { return !order->doses.empty(); });
        if (!tells_any) {
            neither("the order tells no dose");
        } else if (lines_.empty()) {
            add(OrderElement::period, Agreement::differs,
                "by its own dates the order is over, although it is listed as active");
        } else if (are_steps) {
            neither("the order has several steps one after another, and no dates that tell which counts now");
        } else if (lines_.size() > 1 && !all_have_clocks()) {
            neither("it is ordered in " + std::to_string(lines_.size()) +
                    " parts that tell no times of day, so they cannot be put together");
        } else {
            return true;
        }
        return false;
    }

    bool all_have_clocks() const {
        return std::ranges::all_of(lines_, [](const OrderedDose* one) { return !one->clocks.empty(); });
    }

    std::vector<std::chrono::minutes> our_clocks() const {
        std::vector<std::chrono::minutes> clocks;
        for (const DailyDose& dose : with_.version.doses)
            clocks.push_back(dose.clock);
        return clocks;
    }

    void times() {
        if (all_have_clocks()) {
            std::vector<std::chrono::minutes> theirs;
            for (const OrderedDose* line : lines_)
                theirs.insert(theirs.end(), line->clocks.begin(), line->clocks.end());
            std::ranges::sort(theirs);
            const bool is_same = theirs == our_clocks();
            return add(OrderElement::times, is_same ? Agreement::agrees : Agreement::differs,
                       is_same ? "at " + clocks_text(theirs)
                               : "the order says at " + clocks_text(theirs) + ", the regimen has " +
                                     clocks_text(our_clocks()));
        }
        const OrderedDose& line = *lines_.front();
        const std::string ours =
            counted(with_.version.doses.size(), "dose", "doses") + " a day, at " + clocks_text(our_clocks());
        const std::string both = "the order says " + line.times_words + ", the regimen has " + ours;
        if (line.is_not_daily) return add(OrderElement::times, Agreement::differs, both);
        if (!line.a_day) return add(OrderElement::times, Agreement::not_comparable, line.times_unclear);
        const bool as_many = static_cast<std::size_t>(*line.a_day) == with_.version.doses.size();
        if (!as_many || (line.apart && !lie_apart(*line.apart)))
            return add(OrderElement::times, Agreement::differs, both);
        add(OrderElement::times, Agreement::agrees,
            both + (line.apart ? "" : "; the order leaves the times of day open"));
    }

    bool lie_apart(std::chrono::minutes span) const {
        const auto& doses = with_.version.doses;
        for (std::size_t i = 0; i < doses.size(); ++i) {
            const auto next =
                i + 1 < doses.size() ? doses[i + 1].clock : doses[0].clock + std::chrono::hours{24};
            if (next - doses[i].clock != span) return false;
        }
        return true;
    }

    void amounts() {
        if (lines_.size() == 1 && lines_.front()->clocks.empty()) {
            for (const DailyDose& dose : with_.version.doses)
                amount(*lines_.front(), dose.amount, "");
        } else {
            for (const DailyDose& dose : with_.version.doses) {
                const auto line = std::ranges::find_if(lines_, [&](const OrderedDose* one) {
                    return std::ranges::find(one->clocks, dose.clock) != one->clocks.end();
                });
                if (line != lines_.end()) {
                    amount(**line, dose.amount, "at " + time_of_day_words(dose.clock) + " ");
                } else {
                    is_amount_open_ = true;
                }
            }
        }
        if (!amount_differs_.empty()) return add(OrderElement::amount, Agreement::differs, amount_differs_);
        if (!amount_unclear_.empty())
            return add(OrderElement::amount, Agreement::not_comparable, amount_unclear_);
        if (is_amount_open_)
            return add(OrderElement::amount, Agreement::not_comparable,
                       "the order has no dose at a time at which the regimen has one");
        add(OrderElement::amount, Agreement::agrees, amount_same_);
    }

    void amount(const OrderedDose& line, const entry::Amount& ours, const std::string& when) {
        const std::string both = when + "the order says " + line.amount_words + ", the regimen has " +
                                 amount_text(ours, with_.medicine);
        if (line.least || line.most) return within(line, ours, both);
        if (!line.amount) {
            amount_unclear_ = line.amount_unclear;
            return;
        }
        if (has_other_strength_ && line.amount->unit == entry::Unit::millilitre) {
            amount_unclear_ = both + "; millilitres of two strengths are not compared";
            return;
        }
        const AmountCheck check = compare_amounts(*line.amount, ours, with_.medicine, with_.limits);
        if (check.verdict == AmountVerdict::match) {
            amount_same_ = both;
        } else if (check.verdict == AmountVerdict::not_comparable) {
            amount_unclear_ = both + "; the units differ, and nothing is converted";
        } else if (amount_differs_.find(both) == std::string::npos) {
            amount_differs_ += (amount_differs_.empty() ? "" : "; ") + both;
        }
    }

    // Outside a range is a difference; inside it, which amount is meant is open.
    void within(const OrderedDose& line, const entry::Amount& ours, const std::string& both) {
        const auto size = size_of(ours, with_.medicine);
        const auto least = line.least ? size_of(*line.least, with_.medicine) : std::nullopt;
        const auto most = line.most ? size_of(*line.most, with_.medicine) : std::nullopt;
        const bool in_millilitres = (line.least && line.least->unit == entry::Unit::millilitre) ||
                                    (line.most && line.most->unit == entry::Unit::millilitre);
        const bool is_comparable = size && !(has_other_strength_ && in_millilitres);
        const bool is_outside = is_comparable && ((least && size->content < least->content) ||
                                                  (most && size->content > most->content));
        (is_outside ? amount_differs_ : amount_unclear_) =
            both + (is_outside ? "" : "; which amount of the range is meant, the order leaves open");
    }

    void besides() {
        std::set<std::string> beyond;
        for (const OrderedDose* line : lines_) {
            if (line->as_needed)
                add(OrderElement::as_needed, Agreement::differs,
                    "the order says as needed, the regimen has fixed times");
            period(*line);
            if (!line->route_unclear.empty())
                add(OrderElement::route, Agreement::not_comparable, line->route_unclear);
            beyond.insert(line->beyond.begin(), line->beyond.end());
        }
        if (beyond.empty()) return;
        const std::vector<std::string_view> names(beyond.begin(), beyond.end());
        add(OrderElement::instructions, Agreement::not_comparable,
            "the order also has " + all_of(names) + ", which nobody here compares");
    }

    void period(const OrderedDose& line) {
        if (!line.period_unclear.empty())
            add(OrderElement::period, Agreement::not_comparable, line.period_unclear);
        if (line.from && *line.from > with_.at)
            add(OrderElement::period, Agreement::not_comparable,
                "the order begins at " + clock_words(with_.home, *line.from) +
                    "; it is beside the regimen of then");
        if (!line.until) return;
        const std::string theirs = "the order ends before " + clock_words(with_.home, *line.until);
        if (!with_.end)
            return add(OrderElement::period, Agreement::differs, theirs + ", the regimen has no end");
        constexpr std::chrono::hours same_day{24};
        const auto apart = std::chrono::abs(*with_.end - *line.until);
        add(OrderElement::period, apart <= same_day ? Agreement::agrees : Agreement::differs,
            theirs + ", the regimen before " + clock_words(with_.home, *with_.end));
    }

    std::vector<ElementCheck>& checks_;
    const std::vector<const ClinicOrder*>& orders_;
    const ComparedWith& with_;
    Lines lines_;
    bool has_other_strength_ = false;
    bool is_amount_open_ = false;
    std::string amount_differs_;
    std::string amount_unclear_;
    std::string amount_same_;
};

}  // namespace

Instant reference_time(const ClinicOrder& order, Instant at) {
    std::optional<Instant> next;
    for (const OrderedDose& dose : order.doses) {
        if (has_ended(dose, at)) continue;
        if (!dose.from || *dose.from <= at) return at;
        next = std::min(next.value_or(*dose.from), *dose.from);
    }
    return next.value_or(at);
}

void compare_doses(std::vector<ElementCheck>& checks, const std::vector<const ClinicOrder*>& orders,
                   const ComparedWith& with) {
    Doses(checks, orders, with).compare();
}

}  // namespace nightferry::care
