// Vials, doses and how a book of them is told, for the tests of vials.
#pragma once

#include <random>

#include "daemon/care/slots.hpp"
#include "daemon/care/vials.hpp"
#include "tests/daemon/care/fortnight.hpp"

namespace nightferry::care {

using namespace std::chrono_literals;
using namespace test;
using std::chrono::days;
using Texts = std::vector<std::string>;

inline const VialRules usual;
inline const VialRules day_one{28, DayCount::opening_is_day_one, Decimal(1, 2)};

inline Decimal decimal(std::string_view text) {
    return Decimal::parse(text).value();
}

inline EntryId id(std::string_view name) {
    return NameSpace("test").id_for(name);
}

inline OpenedVial vial(std::string_view label, std::string_view at,
                       std::optional<std::string_view> ml = "3") {
    OpenedVial opened;
    opened.id = id(at);
    opened.at = instant(at);
    opened.medicine = "enoxaparin-100";
    opened.label = label;
    if (ml) opened.volume_ml = decimal(*ml);
    return opened;
}

inline OpenedVial printed(OpenedVial opened, std::string_view expires) {
    opened.expires = expires;
    return opened;
}

inline GivenDose dose(std::optional<std::string> from, std::string_view at, std::string_view ml = "0.18",
                      std::string_view of = "enoxaparin-100") {
    GivenDose given;
    given.id = id(at);
    given.at = instant(at);
    given.medicine = of;
    given.amount = {decimal(ml), entry::Unit::millilitre};
    given.size = size_of(given.amount, enoxaparin).value();
    given.vial = std::move(from);
    return given;
}

inline VialBook follow(const std::vector<OpenedVial>& vials, const std::vector<GivenDose>& doses,
                       const std::vector<VialRulesOf>& rules = {}) {
    return follow_vials(vials, doses, rules, zone("Europe/Dublin"));
}

inline VialBook fortnight_book(Instant known_at = long_after) {
    const Known known = fortnight_known(known_at);
    return follow(known.vials, known.doses);
}

inline std::string text(const std::optional<Decimal>& value) {
    return value ? value->to_string() : "none";
}

inline std::string text(const std::optional<Instant>& at) {
    return at ? to_text(*at) : "none";
}

// "V1: 15 draws, 2.7 + 0.15 + 0.15 mL, 270": injected, lost and left, then the content.
inline std::string told(const VialState& vial) {
    return vial.label + ": " + std::to_string(vial.draws) + " draws, " + text(vial.injected_ml) + " + " +
           text(vial.lost_ml) + " + " + text(vial.left_ml) + " mL, " + text(vial.content_given);
}

inline Texts told(const VialBook& book) {
    Texts texts;
    for (const VialState& vial : book.vials)
        texts.push_back(told(vial));
    return texts;
}

inline std::string_view name(VialConcern concern) {
    switch (concern) {
        case VialConcern::unknown:
            return "unknown";
        case VialConcern::not_named:
            return "not named";
        case VialConcern::other_medicine:
            return "other medicine";
        case VialConcern::after_in_use:
            return "after in use";
        case VialConcern::after_expiry:
            return "after expiry";
        case VialConcern::overdrawn:
            return "overdrawn";
    }
    return "";
}

// "after in use V1 2026-11-09T07:55:00Z"
inline Texts notes(const VialBook& book) {
    Texts texts;
    for (const VialNote& note : book.notes) {
        std::string told(name(note.concern));
        if (!note.label.empty()) told += " " + note.label;
        if (note.limit) told += " " + to_text(*note.limit);
        texts.push_back(told);
    }
    return texts;
}

// The slots of a regimen as doses to come.
inline std::vector<ComingDose> coming(const Regimen& regimen, std::string_view from, std::string_view to) {
    std::vector<ComingDose> doses;
    for (const Slot& slot : slots_between(regimen, instant(from), instant(to)))
        doses.push_back(
            {slot.due.at, regimen.orders[slot.order].medicine, dose_of(regimen, slot).amount.value});
    return doses;
}

inline std::vector<ComingDose> coming_each_day(std::size_t count, std::string_view first, std::string_view ml,
                                               std::string_view medicine = "enoxaparin-100") {
    std::vector<ComingDose> doses;
    for (std::size_t i = 0; i < count; ++i)
        doses.push_back({instant(first) + days{i}, std::string(medicine), decimal(ml)});
    return doses;
}

// "5 until 2026-11-04T08:00:00Z, then 2026-11-04T20:00:00Z, 0.06 over"
inline std::string told(const Forecast& found) {
    return std::to_string(found.doses_left) + " until " + text(found.last_covered) + ", then " +
           text(found.first_uncovered) + ", " + text(found.rest_ml) + " over";
}

inline std::string forecast_told(const VialBook& book, const std::vector<ComingDose>& coming,
                                 const std::vector<VialRulesOf>& rules = {}) {
    return told(forecast(book, coming, rules));
}

// Random households of few labels, so that labels are borne again and again.
class Households {
 public:
    explicit Households(unsigned seed) : random_(seed) {}

    int upto(int most) { return std::uniform_int_distribution<int>(0, most)(random_); }
    template <class T>
    T any_of(const std::vector<T>& choices) {
        return choices[static_cast<std::size_t>(upto(static_cast<int>(choices.size()) - 1))];
    }

    std::vector<OpenedVial> vials() {
        std::vector<OpenedVial> vials(static_cast<std::size_t>(upto(8)));
        for (OpenedVial& vial : vials) {
            vial.at = some_hour();
            vial.label = any_of<std::string>({"A", "B", "C"});
            vial.medicine = any_of<std::string>({"one", "one", "two"});
            if (upto(4) > 0) vial.volume_ml = Decimal(upto(3000), 3);
            if (upto(2) == 0) vial.expires = any_of<std::string>({"2026-10", "2026-11-15", "2027-09-30"});
        }
        std::ranges::sort(vials, {}, &OpenedVial::at);
        return vials;
    }

    std::vector<GivenDose> doses() {
        std::vector<GivenDose> doses(static_cast<std::size_t>(upto(40)));
        for (GivenDose& dose : doses) {
            dose.at = some_hour();
            dose.medicine = any_of<std::string>({"one", "one", "one", "two"});
            dose.size.ml = Decimal(upto(400), 3);
            dose.size.content = Decimal(upto(400), 1);
            if (upto(5) > 0) dose.vial = any_of<std::string>({"A", "B", "C", "D"});
        }
        std::ranges::sort(doses, {}, &GivenDose::at);
        return doses;
    }

 private:
    Instant some_hour() { return instant("2026-10-01T00:00Z") + 1h * upto(24 * 70); }

    std::mt19937 random_;
};

// The last vial of the dose's label opened by then, sought from the end.
inline std::optional<std::size_t> vial_of(const GivenDose& dose, const std::vector<OpenedVial>& vials) {
    for (std::size_t i = vials.size(); i-- > 0;) {
        if (dose.vial == vials[i].label && vials[i].at <= dose.at) return i;
    }
    return std::nullopt;
}

inline std::int64_t microlitres(const Decimal& ml) {
    return multiply(ml, Decimal(1000, 0)).value().coefficient();
}

}  // namespace nightferry::care
