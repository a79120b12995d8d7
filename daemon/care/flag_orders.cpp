#include "daemon/care/flag_list.hpp"

namespace nightferry::care {

namespace {

// Which of the two is right is not for the hub to say.
constexpr char ask[] = ". Which of the two is meant, the clinic can say.";

// Flags of what one clinic's server lists as ordered.
class OrderFlags {
 public:
    OrderFlags(FlagList& flags, const OrdersRead& read, const OrdersCompared& compared)
        : flags_(flags), read_(read), compared_(compared) {}

    void all() {
        for (const OrderComparison& one : compared_.comparisons) {
            if (one.standing == Standing::not_in_regimen) {
                add(FlagKind::order_not_in_regimen, one, told(one, Agreement::differs));
            } else if (one.is(Agreement::differs)) {
                add(FlagKind::order_differs, one, told(one, Agreement::differs));
            } else if (is_unclear(one)) {
                add(FlagKind::order_unclear, one,
                    "cannot be compared in full: " + told(one, Agreement::not_comparable));
            }
        }
        if (!compared_.missing) return;
        const MissingOrder& missing = *compared_.missing;
        flags_.add(FlagKind::order_missing,
                   read_.clinic + ":" + missing.medicine + ":" + to_text(missing.since), missing.since,
                   missing.words + ask, {});
    }

 private:
    // What is left open of how much and when; that an order leaves out the strength is no news.
    static bool is_unclear(const OrderComparison& one) {
        for (const ElementCheck& check : one.elements) {
            const bool counts = check.element == OrderElement::medicine ||
                                check.element == OrderElement::amount ||
                                check.element == OrderElement::times || check.element == OrderElement::period;
            if (check.agreement == Agreement::not_comparable && counts) return true;
        }
        return false;
    }

    static std::string told(const OrderComparison& one, Agreement agreement) {
        std::string words;
        for (const ElementCheck& check : one.elements) {
            if (check.agreement == agreement) words += (words.empty() ? "" : "; ") + check.words;
        }
        return words;
    }

    // The same facts have the same key; another difference of the same order is a new fact.
    void add(FlagKind kind, const OrderComparison& one, const std::string& words) {
        std::string names;
        Instant seen = Instant::min();
        for (const std::size_t i : one.orders) {
            names += (names.empty() ? "" : ", ") + ("MedicationRequest/" + read_.orders[i].id);
            seen = std::max(seen, read_.orders[i].seen);
        }
        const EntryId facts = NameSpace("order").id_for(names + "|" + words);
        flags_.add(kind, read_.clinic + ":" + facts.to_string(), seen,
                   "The order at " + read_.clinic + " (" + names + "): " + words + ask, {});
    }

    FlagList& flags_;
    const OrdersRead& read_;
    const OrdersCompared& compared_;
};

}  // namespace

void flag_orders(FlagList& flags, const Review& review) {
    for (std::size_t i = 0; i < review.orders.size(); ++i)
        OrderFlags(flags, review.known.orders[i], review.orders[i]).all();
}

}  // namespace nightferry::care
