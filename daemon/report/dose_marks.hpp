// The shapes that stand for doses. Each differs in its outline, so that no colour is needed to tell them
// apart. Used inside this room only.
#pragma once

#include <array>
#include <string_view>

#include "daemon/report/html.hpp"
#include "fhir/json/document.hpp"

namespace nightferry::report {

struct DoseMark {
    std::string_view word;  // Of the answer: "on_time", "no_record".
    // Paths in a square of 12 by 12 around 0, 0: what is filled, and what is only drawn.
    std::string_view filled;
    std::string_view drawn;
};

// In the order of the legend.
extern const std::array<DoseMark, 11> dose_marks;

// Of a scheduled dose: when it was given, or else what became of it.
std::string_view mark_of(const fhir::json::Value& slot);

// Draws it around x, y; nothing for a word without a mark.
void draw_mark(Html& html, std::string_view word, double x, double y, std::string_view title);

// Under the mark of a dose whose amount was other than ordered.
void draw_amount_sign(Html& html, double x, double y);

// Whether the amount of a dose is told apart in pictures and lists.
bool is_other_amount(const fhir::json::Value& dose);

}  // namespace nightferry::report
