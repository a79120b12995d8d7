#include "daemon/care/order_comparison.hpp"

#include <algorithm>
#include <array>

#include "daemon/care/compare_doses.hpp"
#include "daemon/care/fact_words.hpp"
#include "daemon/care/slots.hpp"
#include "daemon/core/words.hpp"

namespace nightferry::care {

namespace {

constexpr std::array element_words{
    std::pair{OrderElement::medicine, std::string_view("medicine")},
    std::pair{OrderElement::strength, std::string_view("strength")},
    std::pair{OrderElement::amount, std::string_view("amount")},
    std::pair{OrderElement::times, std::string_view("times")},
    std::pair{OrderElement::as_needed, std::string_view("as_needed")},
    std::pair{OrderElement::period, std::string_view("period")},
    std::pair{OrderElement::route, std::string_view("route")},
    std::pair{OrderElement::instructions, std::string_view("instructions")},
};

// "on-hold" and the like, as people say it.
std::string status_words(const std::string& status) {
    if (status == "on-hold") return "held there";
    if (status == "entered-in-error") return "marked there as entered in error";
    if (status == "not found") return "no longer there";
    if (status == "not listed") return "no longer among the active ones";
    return "'" + status + "' there";
}

class Comparing {
 public:
    Comparing(const OrdersRead& read, const Regimen& regimen, const entry::Household& household,
              const OrderLimits& limits, Instant at)
        : read_(read), regimen_(regimen), household_(household), limits_(limits), at_(at) {}

    OrdersCompared all() {
        OrdersCompared compared;
        std::vector<std::size_t> same;
        for (std::size_t i = 0; i < read_.orders.size(); ++i) {
            const ClinicOrder& order = read_.orders[i];
            if (!order.is_active() || order.recognition == Recognition::other) continue;
            if (standing_of(order) == Standing::compared) {
                same.push_back(i);
            } else {
                compared.comparisons.push_back({standing_of(order), {i}, {medicine_of(order)}});
            }
        }
        if (!same.empty()) compared.comparisons.insert(compared.comparisons.begin(), compared_with(same));
        look_for_missing(compared, !same.empty());
        return compared;
    }

 private:
    // By which version an order is judged: the one in force, or where the order begins later, the one then.
    const Order* version_for(const ClinicOrder& order) const {
        return order_in_force(regimen_, reference_time(order, at_));
    }

    Standing standing_of(const ClinicOrder& order) const {
        if (order.recognition == Recognition::unnamed) return Standing::unnamed;
        const Order* version = version_for(order);
        const bool is_its_medicine =
            version != nullptr &&
            std::ranges::find(order.medicines, version->medicine) != order.medicines.end();
        if (!is_its_medicine) return Standing::not_in_regimen;
        return order.recognition == Recognition::by_code ? Standing::compared : Standing::could_be;
    }

    ElementCheck medicine_of(const ClinicOrder& order) const {
        const std::string what = order.medicine_words.empty() ? "no words" : in_quotes(order.medicine_words);
        switch (standing_of(order)) {
            case Standing::compared:
                return {OrderElement::medicine, Agreement::agrees, "the order names it by code: " + what};
            case Standing::could_be:
                return {OrderElement::medicine, Agreement::not_comparable,
                        "words alone name it (" + what + "): it could be the regimen's medicine"};
            case Standing::unnamed:
                return {OrderElement::medicine, Agreement::not_comparable,
                        "nothing that could be read tells which medicine it is about (" + what + ")"};
            case Standing::not_in_regimen:
                break;
        }
        const std::string could = order.recognition == Recognition::by_words ? " (words alone name it)" : "";
        return {OrderElement::medicine, Agreement::differs,
                "the regimen in the settings does not have this medicine now: " + what + could};
    }

    OrderComparison compared_with(const std::vector<std::size_t>& same) const {
        OrderComparison comparison{Standing::compared, same, {}};
        std::vector<const ClinicOrder*> orders;
        for (const std::size_t i : same) {
            orders.push_back(&read_.orders[i]);
            comparison.elements.push_back(medicine_of(read_.orders[i]));
        }
        const Order& version = *version_for(*orders.front());
        compare_doses(
            comparison.elements, orders,
            {version, *household_.medicine(version.medicine), regimen_.end, household_.zone, limits_, at_});
        return comparison;
    }

    void look_for_missing(OrdersCompared& compared, bool is_there) const {
        const Order* version = order_in_force(regimen_, at_);
        if (version == nullptr || is_there || !read_.last_read) return;
        compared.may_be_missing = std::ranges::any_of(compared.comparisons, [](const OrderComparison& one) {
            return one.standing == Standing::could_be || one.standing == Standing::unnamed;
        });
        if (compared.may_be_missing) return;
        std::string words =
            "The regimen has " + version->medicine + ", but " + read_.clinic + " lists no active order of it";
        Instant since = std::max(meant_by(version->zone, version->from).at, *read_.first_read);
        const ClinicOrder* last = nullptr;
        for (const ClinicOrder& order : read_.orders) {
            const bool is_it = order.recognition == Recognition::by_code && !order.is_active() &&
                               std::ranges::find(order.medicines, version->medicine) != order.medicines.end();
            if (is_it && (last == nullptr || order.seen > last->seen)) last = &order;
        }
        if (read_.others > 0) {
            words += "; it lists " + counted(static_cast<std::size_t>(read_.others), "order", "orders") +
                     " of medicines that are not known here";
        }
        if (last != nullptr) {
            words +=
                "; the one read before, MedicationRequest/" + last->id + ", is " + status_words(last->status);
            since = std::max(since, last->seen);
        }
        compared.missing = MissingOrder{version->medicine, since, std::move(words)};
    }

    const OrdersRead& read_;
    const Regimen& regimen_;
    const entry::Household& household_;
    const OrderLimits& limits_;
    const Instant at_;
};

}  // namespace

std::string_view word_for(OrderElement element) {
    return std::ranges::find(element_words, element, [](const auto& one) { return one.first; })->second;
}

std::string_view word_for(Agreement agreement) {
    switch (agreement) {
        case Agreement::agrees:
            return "agrees";
        case Agreement::differs:
            return "differs";
        case Agreement::not_comparable:
            return "not_comparable";
    }
    return {};
}

std::string_view word_for(Standing standing) {
    switch (standing) {
        case Standing::compared:
            return "compared";
        case Standing::could_be:
            return "could_be";
        case Standing::not_in_regimen:
            return "not_in_regimen";
        case Standing::unnamed:
            return "unnamed";
    }
    return {};
}

bool OrderComparison::is(Agreement agreement) const {
    const auto has_it = [&](const ElementCheck& one) { return one.agreement == agreement; };
    return agreement == Agreement::agrees ? std::ranges::all_of(elements, has_it)
                                          : std::ranges::any_of(elements, has_it);
}

const Order* order_in_force(const Regimen& regimen, Instant at) {
    if (regimen.end && at >= *regimen.end) return nullptr;
    const Order* found = nullptr;
    for (const Order& order : regimen.orders) {
        if (meant_by(order.zone, order.from).at <= at) found = &order;
    }
    return found;
}

OrdersCompared compare_orders(const OrdersRead& read, const Regimen& regimen,
                              const entry::Household& household, const OrderLimits& limits, Instant at) {
    return Comparing(read, regimen, household, limits, at).all();
}

}  // namespace nightferry::care
