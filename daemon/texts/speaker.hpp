// Says what people read in their language. Each list of texts (an enumeration, its sentences in every
// language) stands in one file of this room; a speaker fills in what is told and writes numbers and dates as
// that language does.
#pragma once

#include <chrono>
#include <cstdint>
#include <initializer_list>
#include <optional>
#include <span>
#include <string>
#include <string_view>

namespace nightferry::texts {

enum class Language { english, german };

// By its tag (BCP 47): "en" or "de"; nothing for another.
std::optional<Language> language_tagged(std::string_view tag);
std::string_view tag_of(Language language);

// One text in every language. "{1}", "{2}" … stand for what is told. Where a number decides about the form,
// the forms stand behind each other with a bar between them, in the order of the language's plural rule, and
// "{n}" is the number.
template <class Text>
struct Line {
    Text text;
    std::string_view english;
    std::string_view german;  // Empty: not translated yet, and said in English.
};

// Specialised beside each enumeration: `static std::span<const Line<Text>> lines()`, in the order of the
// enumerators.
template <class Text>
struct Texts;

class Speaker {
 public:
    using Told = std::initializer_list<std::string_view>;

    explicit Speaker(Language language) : language_(language) {}

    Language language() const { return language_; }

    template <class Text>
    std::string say(Text text, Told told = {}) const {
        return filled(wording(text), told, {});
    }
    // The form for that number: "1 dose", "3 doses".
    template <class Text>
    std::string count(Text text, std::int64_t number, Told told = {}) const {
        return filled(form_for(number, wording(text)), told, std::to_string(number));
    }

    // "0.20" as "0,20" where a comma divides.
    std::string number(std::string_view decimal) const;
    // "12 Oct 2026" or "12.10.2026".
    std::string date(std::chrono::year_month_day day) const;
    // "12 Oct" or "12.10.", where the year is clear.
    std::string day_and_month(std::chrono::year_month_day day) const;
    // "08:00" of so long after midnight: both languages count 24 hours here, so that no night is taken for a
    // day.
    std::string time_of_day(std::chrono::minutes clock) const;
    // "Mon" or "Mo".
    std::string weekday(std::chrono::weekday day) const;

 private:
    template <class Text>
    std::string_view wording(Text text) const {
        const Line<Text>& line = Texts<Text>::lines()[static_cast<std::size_t>(text)];
        return language_ == Language::german && !line.german.empty() ? line.german : line.english;
    }
    std::string_view form_for(std::int64_t number, std::string_view forms) const;
    static std::string filled(std::string_view wording, Told told, const std::string& number);

    Language language_;
};

// For the check of a list while it is compiled.
template <class Text, std::size_t count>
constexpr bool are_in_order(const Line<Text> (&lines)[count], Text last) {
    for (std::size_t i = 0; i < count; ++i) {
        if (static_cast<std::size_t>(lines[i].text) != i || lines[i].english.empty()) return false;
    }
    return static_cast<std::size_t>(last) + 1 == count;
}

}  // namespace nightferry::texts
