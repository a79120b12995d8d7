// What no text for people may say: verbs in a form that instructs about a dose, in each language. Of what
// ToneTest looks for in what is computed, "hold" and "draw" are left out here: vials hold volumes, and zones
// are drawn.
#pragma once

#include <gtest/gtest.h>

#include <regex>
#include <set>
#include <string>
#include <string_view>

namespace nightferry::test {

inline bool instructs_in_english(std::string_view text) {
    static const std::regex verbs(
        R"(\b(give|skip|omit|stop|start|continue|increase|decrease|reduce|halve|repeat|withhold|take|inject|adjust|delay|postpone|must|should|do not|don't)\b)",
        std::regex::icase);
    return std::regex_search(std::string(text), verbs);
}

inline bool instructs_in_german(std::string_view text) {
    static const std::regex verbs(
        R"(\b(geben|spritzen|injizieren|weglassen|auslassen|aussetzen|absetzen|beginnen|erhöhen|verringern|halbieren|wiederholen|anpassen|verschieben|müssen|muss|sollte|sollten|Sie)\b)");
    return std::regex_search(std::string(text), verbs);
}

// The places of a text that are filled in, such as "{1}".
inline std::multiset<std::string> places_in(std::string_view text) {
    std::multiset<std::string> places;
    for (auto at = text.find('{'); at != std::string_view::npos; at = text.find('{', at + 1))
        places.insert(std::string(text.substr(at, 3)));
    return places;
}

// Every line of a list is there in both languages, tells the same and instructs nobody.
template <class Lines>
void expect_complete_and_calm(const Lines& lines) {
    for (const auto& line : lines) {
        EXPECT_EQ(places_in(line.english), places_in(line.german)) << line.english;
        EXPECT_FALSE(line.german.empty()) << line.english;
        EXPECT_FALSE(instructs_in_english(line.english)) << line.english;
        EXPECT_FALSE(instructs_in_german(line.german)) << line.german;
    }
}

}  // namespace nightferry::test
