#include "daemon/report/dose_marks.hpp"

#include <algorithm>

#include "daemon/report/sheet.hpp"
#include "daemon/report/table.hpp"

namespace nightferry::report {

namespace json = fhir::json;

// Time runs to the right: what was early points to the left, what was late to the right.
constinit const std::array<DoseMark, 11> dose_marks{{
    {"on_time", "M -4.5 0 a 4.5 4.5 0 1 0 9 0 a 4.5 4.5 0 1 0 -9 0 z", ""},
    {"early", "", "M 4 -5 L -5 0 L 4 5 z"},
    {"late", "", "M -4 -5 L 5 0 L -4 5 z"},
    {"very_late", "M -6 -5 L 0 0 L -6 5 z M 0 -5 L 6 0 L 0 5 z", ""},
    {"missed", "", "M -4.5 -4.5 L 4.5 4.5 M -4.5 4.5 L 4.5 -4.5"},
    {"no_record", "",
     "M -4.5 -4.5 h 3 M 1.5 -4.5 h 3 v 3 M 4.5 1.5 v 3 h -3 M -1.5 4.5 h -3 v -3 M -4.5 -1.5 v -3"},
    {"undecided", "M -1 3.5 h 2 v 2 h -2 z", "M -3 -2.5 a 3 3 0 1 1 4.5 2.6 q -1.5 0.8 -1.5 2"},
    {"held", "", "M -2.5 -5 V 5 M 2.5 -5 V 5"},
    {"due", "", "M -4.5 0 a 4.5 4.5 0 1 0 9 0 a 4.5 4.5 0 1 0 -9 0 z"},
    {"extra", "M -1.7 -5.5 h 3.4 v 3.8 h 3.8 v 3.4 h -3.8 v 3.8 h -3.4 v -3.8 h -3.8 v -3.4 h 3.8 z", ""},
    {"provisional", "M -0.9 -0.9 h 1.8 v 1.8 h -1.8 z", "M 0 -5.5 L 5.5 0 L 0 5.5 L -5.5 0 z"},
}};

std::string_view mark_of(const json::Value& slot) {
    const std::string_view fate = slot.string_at("fate");
    return fate == "given" ? slot.string_at("timing") : fate;
}

void draw_mark(Html& html, std::string_view word, double x, double y, std::string_view title) {
    const auto* const mark = std::ranges::find(dose_marks, word, &DoseMark::word);
    if (mark == dose_marks.end()) return;
    const auto group = html.in("g", {{"class", "mark " + std::string(word)},
                                     {"transform", "translate(" + px(x) + " " + px(y) + ")"}});
    if (!title.empty()) html.put("title", title);
    if (!mark->filled.empty()) html.put("path", {{"class", "filled"}, {"d", std::string(mark->filled)}});
    if (!mark->drawn.empty()) html.put("path", {{"class", "drawn"}, {"d", std::string(mark->drawn)}});
}

void draw_amount_sign(Html& html, double x, double y) {
    html.put("path", {{"class", "amount-sign"},
                      {"d", "M " + px(x - 6) + " " + px(y + 8) + " h 12 M " + px(x + 3) + " " + px(y + 5.5) +
                                " l -6 5"}});
}

bool is_other_amount(const json::Value& dose) {
    const std::string verdict = text_at(dose, "verdict");
    return !verdict.empty() && verdict != "match";
}

}  // namespace nightferry::report
