// The demo household's fortnight as the page of a report, and finding things in pages.
#pragma once

#include "daemon/care/review_json.hpp"
#include "daemon/report/report_page.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/json/writer.hpp"
#include "tests/daemon/care/fortnight.hpp"

namespace nightferry::test {

inline care::Plan fortnight_plan() {
    care::Plan plan;
    plan.person = "juniper";
    plan.regimen = fortnight();
    return plan;
}

// As GET /v1/report answers it, but for the history of the flags.
inline fhir::json::Document report_of(const care::Period& period, Instant known_at = long_after,
                                      const care::Plan& plan = fortnight_plan()) {
    static const std::vector<care::Revisions> entries = fortnight_entries();
    const care::Review review = care::review_of(plan, household(), entries, period, known_at);
    fhir::json::Document document;
    care::put_review(document.root(), review, household());
    fhir::json::Value& flags = document.root().add_array("flags");
    for (const care::Flag& flag : review.flags)
        care::put_flag(flags.push_object(), flag, plan.flags);
    return document;
}

inline std::string page_of(const fhir::json::Document& answer,
                           texts::Language language = texts::Language::english) {
    return report::report_page(answer.root(), texts::Speaker(language), {"0.0-test", "2026-11-02T12:00:00Z"});
}

inline std::size_t times(const std::string& text, std::string_view what) {
    std::size_t count = 0;
    for (auto at = text.find(what); at != std::string::npos; at = text.find(what, at + 1))
        ++count;
    return count;
}

}  // namespace nightferry::test
