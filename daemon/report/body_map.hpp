// The drawing of where recent injections lie. Used inside this room only.
#pragma once

#include <vector>

#include "daemon/report/sheet.hpp"

namespace nightferry::report {

// Its parts of the answer live as long as the answer.
struct RecentInjection {
    const fhir::json::Value* zone = nullptr;
    const fhir::json::Value* injection = nullptr;
    std::vector<const fhir::json::Value*> notes;
    int number = 0;  // 1 is the newest.
};

// From the front, and from behind where a zone there was ever used. `recent` is in the order of its numbers.
void draw_body(Sheet& sheet, const fhir::json::Value& sites, const std::vector<RecentInjection>& recent);

// "-6 | 2.5", in centimetres; words where nobody told.
std::string spot_words(const Sheet& sheet, const fhir::json::Value& injection);

}  // namespace nightferry::report
