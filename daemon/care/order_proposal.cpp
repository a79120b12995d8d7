#include "daemon/care/order_proposal.hpp"

#include <algorithm>

#include "daemon/care/amounts.hpp"
#include "daemon/care/fact_words.hpp"
#include "daemon/core/words.hpp"
#include "daemon/entry/vocabulary.hpp"

namespace nightferry::care {

namespace {

constexpr char decide[] = "  # DECIDE: ";

struct Timed {
    std::chrono::minutes clock;
    const OrderedDose* dose;
};

// Every dose with its time of day; empty unless all have both.
std::vector<Timed> timed_doses(const ClinicOrder& order) {
    std::vector<Timed> all;
    for (const OrderedDose& dose : order.doses) {
        if (dose.clocks.empty() || !dose.amount || dose.as_needed) return {};
        for (const auto clock : dose.clocks)
            all.push_back({clock, &dose});
    }
    std::ranges::sort(all, {}, &Timed::clock);
    const bool is_twice = std::ranges::adjacent_find(all, {}, &Timed::clock) != all.end();
    return is_twice ? std::vector<Timed>() : all;
}

bool has_steps(const ClinicOrder& order) {
    return std::ranges::any_of(order.doses, [&](const OrderedDose& dose) {
        return dose.sequence != order.doses.front().sequence || dose.from != order.doses.front().from;
    });
}

std::string written(const entry::Amount& amount) {
    return amount.value.to_string() + " " + std::string(entry::word_for(amount.unit));
}

class Proposal {
 public:
    Proposal(const entry::Household& household) : household_(household) {}

    void order(const ClinicOrder& order, const std::string& clinic) {
        text_ += "\n# MedicationRequest/" + order.id + " at " + clinic + ": " + quoted(order.medicine_words) +
                 (order.strength_words.empty() ? "" : ", " + quoted(order.strength_words)) + "\n";
        for (const OrderedDose& dose : order.doses)
            text_ += "#   " + words_of(dose) + "\n";
        if (order.is_prohibition || order.has_unknown_modifier) {
            text_ += order.is_prohibition
                         ? "# It says that this is not to be given, so nothing is proposed.\n"
                         : "# Something in it turns its meaning, so nothing is proposed.\n";
            return;
        }
        text_ += "[[regimen.order]]\n";
        from(order);
        medicine(order);
        doses(order);
    }

    std::string take() { return std::move(text_); }

 private:
    static std::string quoted(const std::string& words) {
        return words.empty() ? "no words" : in_quotes(words);
    }

    static std::string words_of(const OrderedDose& dose) {
        std::string words = dose.amount_words.empty() ? "no amount" : dose.amount_words;
        words += ", " + (dose.times_words.empty() ? "no times" : dose.times_words);
        if (dose.as_needed) words += ", as needed";
        if (!dose.text.empty()) words += "; in the clinic's words: " + in_quotes(dose.text);
        std::ranges::replace_if(
            words, [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7F; }, ' ');
        return words;
    }

    void from(const ClinicOrder& order) {
        std::string hint = "the local time of the first dose under it";
        if (order.authored)
            hint += "; the order was written on " + clock_words(household_.zone, *order.authored);
        for (const OrderedDose& dose : order.doses) {
            if (dose.from) hint += "; it begins on " + clock_words(household_.zone, *dose.from);
            if (dose.until) hint += "; it ends before " + clock_words(household_.zone, *dose.until);
        }
        text_ += "#from = \"YYYY-MM-DDTHH:MM\"" + (decide + hint) + "\n";
    }

    void medicine(const ClinicOrder& order) {
        const bool is_sure = order.recognition == Recognition::by_code && order.medicines.size() == 1;
        if (is_sure) {
            text_ += "medicine = \"" + order.medicines.front() + "\"";
            if (!order.strength) text_ += "  # Compare the strength: the order does not tell it.";
            text_ += "\n";
            return;
        }
        std::string hint = "which [[medicine]] it is";
        if (!order.medicines.empty()) {
            const std::vector<std::string_view> keys(order.medicines.begin(), order.medicines.end());
            hint += "; it could be " + any_of(keys);
        }
        text_ += "#medicine = \"…\"" + (decide + hint) + "\n";
    }

    void doses(const ClinicOrder& order) {
        const std::vector<Timed> timed = has_steps(order) ? std::vector<Timed>() : timed_doses(order);
        std::string list;
        for (const Timed& one : timed)
            list +=
                (list.empty() ? "" : ", ") + time_of_day_words(one.clock) + " " + written(*one.dose->amount);
        if (!list.empty()) {
            text_ += "doses = \"" + list + "\"\n";
            return;
        }
        text_ += "#doses = \"HH:MM …, HH:MM …\"" +
                 (decide + std::string("the order leaves amounts or times of day open; see above")) + "\n";
    }

    const entry::Household& household_;
    std::string text_;
};

}  // namespace

std::string proposed_regimen(const std::string& person, std::span<const OrdersRead> read,
                             const entry::Household& household, bool has_regimen) {
    Proposal proposal(household);
    std::string when;
    for (const OrdersRead& one : read) {
        when += "# Read from " + one.clinic + ": " +
                (one.last_read ? clock_words(household.zone, *one.last_read) : std::string("never")) + ".\n";
        for (const ClinicOrder& order : one.orders) {
            const bool may_be_ours =
                order.recognition == Recognition::by_code || order.recognition == Recognition::by_words;
            if (order.is_active() && may_be_ours) proposal.order(order, one.clinic);
        }
    }
    const std::string orders = proposal.take();
    std::string text =
        "# A proposal, made of what the clinic's server lists. Nothing was written to the settings. Compare "
        "every\n"
        "# line with the clinic's paper, ask the clinic where they differ, and decide where a line says "
        "DECIDE.\n" +
        when;
    if (orders.empty())
        return text + "# No active order there is about a medicine of this hub, so nothing is proposed.\n";
    if (has_regimen)
        text +=
            "# The settings have a [[regimen]] of this person: only [[regimen.order]] would be new there.\n";
    return text + "[[regimen]]\nperson = \"" + person + "\"\n" + orders;
}

}  // namespace nightferry::care
