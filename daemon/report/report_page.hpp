// What was computed, as one page to read, to print and to hand over: a file of HTML that needs nothing else,
// runs nothing and asks nothing of any network. Every number is the answer's own.
#pragma once

#include <string>

#include "daemon/texts/speaker.hpp"
#include "fhir/json/document.hpp"

namespace nightferry::report {

// By which program, and when ("2026-11-01T21:00:00Z"), the page is made.
struct Making {
    std::string version;
    std::string at;
};

// Of GET /v1/report.
std::string report_page(const fhir::json::Value& review, const texts::Speaker& speaker, const Making& making);

}  // namespace nightferry::report
