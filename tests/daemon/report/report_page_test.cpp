// The page says what the answer says, in its language, and keeps what people wrote from becoming markup.
#include <regex>

#include "daemon/care/result_words.hpp"
#include "daemon/entry/vocabulary.hpp"
#include "daemon/texts/care_words.hpp"
#include "daemon/texts/report_texts.hpp"
#include "tests/daemon/report/fortnight_page.hpp"

namespace nightferry::report {
namespace {

using namespace test;
using testing::HasSubstr;
using testing::Not;
using texts::Language;
using texts::ReportText;

fhir::json::Document whole_fortnight() {
    return report_of({fortnight_from, fortnight_to});
}

// Without everything from one text to the other, of which `left` stays.
std::string without(std::string text, std::string_view from, std::string_view to, std::string_view left) {
    std::string rest;
    while (true) {
        const auto begin = text.find(from);
        const auto end = begin == std::string::npos ? begin : text.find(to, begin + from.size());
        if (end == std::string::npos) return rest + text;
        rest += text.substr(0, begin) + std::string(left);
        text.erase(0, end + to.size());
    }
}

// What stands between tags, but for the daemon's English reasons, the style and what the family wrote.
std::string words_of(const std::string& page) {
    std::string text = without(page, "<style>", "</style>", "");
    text = without(text, " lang=\"en\">", "<", "><");
    text = without(text, "\u201C", "\u201D", "");
    return without(text, "<", ">", "\n");
}

TEST(ReportPageTest, NeedsNothingElseAndRunsNothing) {
    const std::string page = page_of(whole_fortnight());
    EXPECT_TRUE(page.starts_with("<!doctype html>\n<html lang=\"en\">"));
    EXPECT_THAT(page, HasSubstr("content=\"default-src &#39;none&#39;; style-src &#39;unsafe-inline&#39;\""));
    for (const char* from_elsewhere :
         {"<script", "<link", "<img", "src=", "href=", "@import", "http://", "https://"})
        EXPECT_THAT(page, Not(HasSubstr(from_elsewhere)));
}

TEST(ReportPageTest, TellsWhoseItIsAndWhatItRestsOn) {
    const std::string page = page_of(whole_fortnight());
    for (const char* words :
         {"Juniper Exampleton-Test (juniper)", "12 Oct 2026 to 1 Nov 2026", "Europe/Dublin",
          "Tue 1 Dec, 00:00", "test-home", "Nightferry 0.0-test", "61 entries", "1 unresolved"})
        EXPECT_THAT(page, HasSubstr(words));
}

TEST(ReportPageTest, ExceptionsStandBeforeFiguresAndPictures) {
    const std::string page = page_of(whole_fortnight());
    std::size_t before = 0;
    for (const char* section : {"first", "exceptions", "figures", "calendar", "sites", "lesions", "vials",
                                "quality", "weights", "cautions"}) {
        const auto at = page.find("<section aria-labelledby=\"" + std::string(section) + "\"");
        ASSERT_NE(at, std::string::npos) << section;
        EXPECT_GT(at, before) << section;
        before = at;
    }
}

TEST(ReportPageTest, WhatPeopleWroteIsShownAndNeverMarkup) {
    const std::string hostile = "<script>alert(1)</script>\"'><img onerror=x>";
    std::string answer = fhir::json::write(whole_fortnight().root());
    const std::string in_json = "<script>alert(1)</script>\\\"'><img onerror=x>";
    for (const char* word : {"Juniper Exampleton-Test", "the nurse on the clinic's phone", "Europe/Dublin",
                             "enoxaparin-100", "marlow", "B1", "DEMO-0417A", "test-home", "bruise", "V1"}) {
        for (auto at = answer.find("\"" + std::string(word) + "\""); at != std::string::npos;
             at = answer.find("\"" + std::string(word) + "\"", at + 1))
            answer.replace(at + 1, std::string_view(word).size(), in_json);
    }
    const auto document = fhir::json::read(answer);
    ASSERT_TRUE(document);
    for (const auto language : {Language::english, Language::german}) {
        const std::string page = report_page(document->root(), texts::Speaker(language), {hostile, hostile});
        EXPECT_GT(times(page, "&lt;script&gt;alert(1)"), 20U);
        EXPECT_THAT(page, Not(HasSubstr("<script")));
        EXPECT_THAT(page, Not(HasSubstr("<img")));
    }
}

TEST(ReportPageTest, ItsDrawingsShowWhatItsTablesTell) {
    const auto answer = whole_fortnight();
    const std::string page = page_of(answer);
    std::size_t recent = 0;
    std::size_t resting = 0;
    for (const auto& zone : answer.root().find("sites")->items_at("zones")) {
        recent += std::stoul(std::string(zone.find("recent_injections")->text()));
        resting += zone.find("rests") == nullptr ? 0 : 1;
    }
    EXPECT_GT(recent, 10U);
    EXPECT_EQ(times(page, "<g class=\"injection"), recent);
    EXPECT_EQ(times(page, "class=\"rests\""), resting);
    std::size_t looks = 0;
    for (const auto& lesion : answer.root().items_at("lesions"))
        looks += lesion.find("looks")->size();
    EXPECT_EQ(looks, 13U) << "seven of the bruise and six of the lump, by the demo's table of findings";
    EXPECT_EQ(times(page, "class=\"look"), looks);
    EXPECT_EQ(times(page, "class=\"look gone\""), 2U);
    EXPECT_EQ(times(page, "class=\"look serious\""), 2U) << "16 October kept growing, 17 October was large";
}

TEST(ReportPageTest, AZoneBehindIsDrawnFromBehindAndOnlyThen) {
    fhir::json::Document answer;
    answer.root().add_string("zone", "Europe/Dublin");
    fhir::json::Value& zones = answer.root().add_object("sites").add_array("zones");
    const auto use = [&](const char* region) {
        fhir::json::Value& zone = zones.push_object();
        zone.add_string("region", region);
        zone.add_string("side", "left");
        // Two without coordinates: each has its mark, and the second a line to its place.
        fhir::json::Value& recent = zone.add_array("recent");
        recent.push_object().add_string("given", "2026-10-12T07:00:00Z");
        recent.push_object().add_string("given", "2026-10-13T07:00:00Z");
    };
    use("thigh");
    EXPECT_THAT(page_of(answer), Not(HasSubstr("seen from behind")));
    use("buttock");
    const std::string page = page_of(answer);
    EXPECT_THAT(page, HasSubstr("seen from behind"));
    EXPECT_EQ(times(page, "class=\"spot\""), 4U);
    EXPECT_EQ(times(page, "class=\"to-place\""), 2U);
}

TEST(ReportPageTest, GermanPageHasGermanTextsAndCommas) {
    const std::string words = words_of(page_of(whole_fortnight(), Language::german));
    EXPECT_THAT(words, HasSubstr("94,9\u00A0%"));
    EXPECT_THAT(words, HasSubstr("1,178"));
    EXPECT_THAT(words, HasSubstr("So 01.11., 20:06"));
    // A point between digits is that of a date, or of the program's version.
    std::istringstream lines(words);
    for (std::string line; std::getline(lines, line);) {
        static const std::regex date("[0-9]{2}\\.[0-9]{2}\\.([0-9]{4})?|0\\.0-test");
        static const std::regex point("[0-9]\\.[0-9]");
        EXPECT_FALSE(std::regex_search(std::regex_replace(line, date, ""), point)) << line;
    }
    for (const auto& line : texts::Texts<ReportText>::lines()) {
        if (line.english == line.german || line.english.find('{') != std::string_view::npos) continue;
        EXPECT_THAT(words, Not(HasSubstr("\n" + std::string(line.english) + "\n")));
    }
}

TEST(ReportPageTest, AnAnswerWithNothingInItMakesAPageAllTheSame) {
    fhir::json::Document empty;
    for (const auto language : {Language::english, Language::german})
        EXPECT_THAT(page_of(empty, language), HasSubstr("</html>"));
    fhir::json::Document odd;
    odd.root().add_string("from", "yesterday");
    odd.root().add_string("zone", "Nowhere/Land");
    odd.root().add_string("unresolved", "many");
    EXPECT_THAT(page_of(odd), HasSubstr("</html>"));
}

template <class E>
void expect_words(std::initializer_list<E> values, const std::set<std::string>& known) {
    for (const E value : values)
        EXPECT_TRUE(known.contains(std::string(care::word_for(value)))) << care::word_for(value);
}

TEST(ReportTextsTest, EveryWordOfAnAnswerIsTranslatedOnce) {
    std::set<std::string> known;
    for (const auto& line : texts::care_words()) {
        EXPECT_TRUE(known.insert(std::string(line.text)).second) << line.text;
        EXPECT_FALSE(line.english.empty() || line.german.empty()) << line.text;
    }
    using enum care::SlotFate;
    expect_words({given, held, missed, undecided, no_record, due}, known);
    expect_words({care::Timing::on_time, care::Timing::early, care::Timing::late, care::Timing::very_late},
                 known);
    expect_words({care::Level::note, care::Level::contact, care::Level::urgent}, known);
    const auto expect_vocabulary = [&](const auto& words) {
        for (const auto& word : words)
            EXPECT_TRUE(known.contains(std::string(entry::word_for(word.value)))) << word.text;
    };
    expect_vocabulary(entry::Vocabulary<entry::Region>::words);
    expect_vocabulary(entry::Vocabulary<entry::Side>::words);
    expect_vocabulary(entry::Vocabulary<entry::WhyNotGiven>::words);
    expect_vocabulary(entry::Vocabulary<entry::FindingKind>::words);
    expect_vocabulary(entry::Vocabulary<entry::HowWeighed>::words);
    const texts::Speaker german(Language::german);
    EXPECT_EQ(texts::say_word(german, "no_record"), "kein Eintrag");
    EXPECT_EQ(texts::say_word(german, "never_heard_of"), "never heard of");
}

}  // namespace
}  // namespace nightferry::report
