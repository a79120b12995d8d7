// One page in the making: the answer it shows, the language it is in, and the markup it becomes. The parts of
// the page are functions that add to it. Used inside this room only.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "daemon/report/home_clock.hpp"
#include "daemon/report/html.hpp"
#include "daemon/texts/report_texts.hpp"
#include "daemon/texts/speaker.hpp"
#include "fhir/json/document.hpp"

namespace nightferry::report {

using T = texts::ReportText;

class Sheet {
 public:
    // All of them outlive it.
    Sheet(Html& markup, const fhir::json::Value& answer, const texts::Speaker& language)
        : html(markup), review(answer), speaker(language), home_(answer) {}

    Html& html;
    const fhir::json::Value& review;
    const texts::Speaker& speaker;

    std::string say(T text, texts::Speaker::Told told = {}) const { return speaker.say(text, told); }
    // A word of the answer, as people read it.
    std::string word(const fhir::json::Value& object, std::string_view name) const;

    // Members as people read them; empty when they are absent.
    std::string number(const fhir::json::Value& object, std::string_view name) const;
    std::string day(const fhir::json::Value& object, std::string_view name) const;   // "Mon 12 Oct 2026"
    std::string date(const fhir::json::Value& object, std::string_view name) const;  // Of a date, no time.
    std::string when(const fhir::json::Value& object, std::string_view name) const;  // "Mon 12 Oct, 08:00"
    std::string span(const fhir::json::Value& object, std::string_view name) const;  // "3 h 40 min"
    std::string percent(const fhir::json::Value& share) const;                       // "94.9 %"
    std::string site(const fhir::json::Value& object) const;                         // "left thigh (2.5, 0)"
    std::string zone(const fhir::json::Value& object) const;                         // "left thigh"
    std::optional<LocalSecond> local(const fhir::json::Value& object, std::string_view name) const;

    // The head of a table: its caption, and a column for each.
    void table_head(std::string_view caption, std::initializer_list<std::string_view> columns);
    // A row whose first cell names it.
    void row(std::initializer_list<std::string_view> cells);

 private:
    HomeClock home_;
};

// Drawing needs no exactness; nothing that is drawn is read as a figure. 0 when it is absent.
double measure_at(const fhir::json::Value& object, std::string_view name);
// "12.5", for SVG.
std::string px(double length);

// A section of the page with its heading; `id` names it for the heading.
class Section {
 public:
    Section(Sheet& sheet, Html::Name id, T heading);

 private:
    Html::Inside section_;
};

// What may be wider than a small screen, and is then moved sideways by itself.
class Scrolls {
 public:
    Scrolls(Sheet& sheet, T name);

 private:
    Html::Inside scrolls_;
};

// "close to a recent injection, 1.414 cm (limit 2.5 cm)"
std::string site_note_words(const Sheet& sheet, const fhir::json::Value& note);
// "bruise B1, right abdomen (-6, 2.5)"
std::string lesion_words(const Sheet& sheet, const fhir::json::Value& lesion);

// The parts, in their order.
void put_flags(Sheet& sheet);
void put_exceptions(Sheet& sheet);
void put_figures(Sheet& sheet);
void put_dose_calendar(Sheet& sheet);
void put_sites(Sheet& sheet);
void put_lesion_curves(Sheet& sheet);
void put_vials(Sheet& sheet);
void put_besides(Sheet& sheet);
void put_data_quality(Sheet& sheet);
void put_cautions(Sheet& sheet);

}  // namespace nightferry::report
