// The words of the entry format, both ways.
#pragma once

#include <array>
#include <optional>
#include <string_view>
#include <utility>
#include <vector>

#include "daemon/entry/entry.hpp"

namespace nightferry::entry {

template <class E>
struct Word {
    std::string_view text;
    E value;
    bool is_for_people = true;  // Otherwise only the hub writes it.
};

// Every word of one enumeration, the preferred spelling of a value first.
template <class E>
struct Vocabulary;

template <>
struct Vocabulary<Kind> {
    static constexpr std::array words{
        Word<Kind>{"dose_given", Kind::dose_given},   Word<Kind>{"dose_not_given", Kind::dose_not_given},
        Word<Kind>{"finding", Kind::finding},         Word<Kind>{"weight", Kind::weight},
        Word<Kind>{"vial_opened", Kind::vial_opened}, Word<Kind>{"summary", Kind::summary, false},
    };
};

template <>
struct Vocabulary<Action> {
    static constexpr std::array words{
        Word<Action>{"record", Action::record},
        Word<Action>{"amend", Action::amend},
        Word<Action>{"retract", Action::retract},
    };
};

template <>
struct Vocabulary<Unit> {
    // UCUM writes mL and ml for one unit, and [IU] for what people write as IU.
    static constexpr std::array words{
        Word<Unit>{"mL", Unit::millilitre},           Word<Unit>{"mg", Unit::milligram},
        Word<Unit>{"IU", Unit::international_unit},   Word<Unit>{"ml", Unit::millilitre},
        Word<Unit>{"[IU]", Unit::international_unit},
    };
};

template <>
struct Vocabulary<Region> {
    static constexpr std::array words{
        Word<Region>{"abdomen", Region::abdomen},       Word<Region>{"thigh", Region::thigh},
        Word<Region>{"upper_arm", Region::upper_arm},   Word<Region>{"buttock", Region::buttock},
        Word<Region>{"lower_back", Region::lower_back},
    };
};

template <>
struct Vocabulary<Side> {
    static constexpr std::array words{Word<Side>{"left", Side::left}, Word<Side>{"right", Side::right}};
};

template <>
struct Vocabulary<Level> {
    static constexpr std::array words{Word<Level>{"upper", Level::upper}, Word<Level>{"lower", Level::lower}};
};

template <>
struct Vocabulary<HowWeighed> {
    static constexpr std::array words{Word<HowWeighed>{"measured", HowWeighed::measured},
                                      Word<HowWeighed>{"estimated", HowWeighed::estimated}};
};

template <>
struct Vocabulary<WhyNotGiven> {
    static constexpr std::array words{
        Word<WhyNotGiven>{"forgot", WhyNotGiven::forgot},
        Word<WhyNotGiven>{"refused", WhyNotGiven::refused},
        Word<WhyNotGiven>{"clinic_hold", WhyNotGiven::clinic_hold},
        Word<WhyNotGiven>{"out_of_stock", WhyNotGiven::out_of_stock},
        Word<WhyNotGiven>{"not_at_hand", WhyNotGiven::not_at_hand},
        Word<WhyNotGiven>{"in_hospital", WhyNotGiven::in_hospital},
        Word<WhyNotGiven>{"unwell", WhyNotGiven::unwell},
        Word<WhyNotGiven>{"other", WhyNotGiven::other},
    };
};

template <>
struct Vocabulary<FindingKind> {
    static constexpr std::array words{
        Word<FindingKind>{"bruise", FindingKind::bruise},
        Word<FindingKind>{"haematoma", FindingKind::haematoma},
        Word<FindingKind>{"lump", FindingKind::lump},
        Word<FindingKind>{"hardening", FindingKind::hardening},
        Word<FindingKind>{"site_bleeding", FindingKind::site_bleeding},
        Word<FindingKind>{"redness", FindingKind::redness},
        Word<FindingKind>{"pain", FindingKind::pain},
        Word<FindingKind>{"swelling", FindingKind::swelling},
        Word<FindingKind>{"itching", FindingKind::itching},
        Word<FindingKind>{"hives", FindingKind::hives},
        Word<FindingKind>{"infection_signs", FindingKind::infection_signs},
        Word<FindingKind>{"dead_skin", FindingKind::dead_skin},
        Word<FindingKind>{"leak", FindingKind::leak},
        Word<FindingKind>{"colour_change", FindingKind::colour_change},
        Word<FindingKind>{"numbness", FindingKind::numbness},
        Word<FindingKind>{"nosebleed", FindingKind::nosebleed},
        Word<FindingKind>{"gum_bleeding", FindingKind::gum_bleeding},
        Word<FindingKind>{"blood_in_urine", FindingKind::blood_in_urine},
        Word<FindingKind>{"dark_stool", FindingKind::dark_stool},
        Word<FindingKind>{"head_injury", FindingKind::head_injury},
        Word<FindingKind>{"other", FindingKind::other},
        Word<FindingKind>{"hematoma", FindingKind::haematoma},
        Word<FindingKind>{"color_change", FindingKind::colour_change},
    };
};

template <>
struct Vocabulary<SummaryOf> {
    static constexpr std::array words{Word<SummaryOf>{"day", SummaryOf::day},
                                      Word<SummaryOf>{"week", SummaryOf::week}};
};

template <>
struct Vocabulary<Count> {
    static constexpr std::array words{
        Word<Count>{"ordered", Count::ordered},
        Word<Count>{"given", Count::given},
        Word<Count>{"filled", Count::filled},
        Word<Count>{"on_time", Count::on_time},
        Word<Count>{"early", Count::early},
        Word<Count>{"late", Count::late},
        Word<Count>{"very_late", Count::very_late},
        Word<Count>{"missed", Count::missed},
        Word<Count>{"no_record", Count::no_record},
        Word<Count>{"held", Count::held},
        Word<Count>{"extra", Count::extra},
        Word<Count>{"undecided", Count::undecided},
        Word<Count>{"provisional", Count::provisional},
        Word<Count>{"near_time", Count::near_time},
        Word<Count>{"wide_time", Count::wide_time},
        Word<Count>{"as_ordered_amount", Count::as_ordered_amount},
        Word<Count>{"days", Count::days},
        Word<Count>{"days_as_ordered", Count::days_as_ordered},
    };
};

template <class E>
constexpr std::string_view word_for(E value) {
    for (const auto& word : Vocabulary<E>::words) {
        if (word.value == value) return word.text;
    }
    return {};
}

template <class E>
constexpr std::optional<E> meaning_of(std::string_view text) {
    for (const auto& word : Vocabulary<E>::words) {
        if (word.text == text) return word.value;
    }
    return std::nullopt;
}

// The same for what people wrote.
template <class E>
constexpr std::optional<E> meaning_of_written(std::string_view text) {
    for (const auto& word : Vocabulary<E>::words) {
        if (word.text == text && word.is_for_people) return word.value;
    }
    return std::nullopt;
}

// The preferred spellings of what people may write, for messages.
template <class E>
std::vector<std::string_view> choices() {
    std::vector<std::string_view> texts;
    for (const auto& word : Vocabulary<E>::words) {
        if (word_for(word.value) == word.text && word.is_for_people) texts.push_back(word.text);
    }
    return texts;
}

}  // namespace nightferry::entry
