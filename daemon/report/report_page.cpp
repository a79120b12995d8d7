#include "daemon/report/report_page.hpp"

#include "daemon/report/page_style.hpp"
#include "daemon/report/sheet.hpp"
#include "daemon/report/table.hpp"

namespace nightferry::report {

namespace json = fhir::json;

namespace {

std::string person_of(const json::Value& review) {
    const std::string name = text_at(review, "name");
    return name.empty() ? text_at(review, "person") : name;
}

// "12 Oct 2026 to 1 Nov 2026": `to` is the first instant that is left out.
std::string period_of(const Sheet& sheet) {
    const auto from = sheet.local(sheet.review, "from");
    const auto to = sheet.local(sheet.review, "to");
    if (!from || !to) return {};
    using std::chrono::days;
    const std::chrono::year_month_day first{std::chrono::floor<days>(*from)};
    const std::chrono::year_month_day last{std::chrono::floor<days>(*to - std::chrono::seconds{1})};
    if (first == last) return sheet.speaker.date(first);
    return sheet.say(T::period_text, {sheet.speaker.date(first), sheet.speaker.date(last)});
}

void put_fact(Sheet& sheet, T name, std::string_view value) {
    const auto pair = sheet.html.in("div");
    sheet.html.put("dt", sheet.say(name));
    sheet.html.put("dd", value);
}

void put_head(Sheet& sheet, const Making& making) {
    Html& html = sheet.html;
    const auto header = html.in("header");
    html.put("h1", sheet.say(T::heading, {person_of(sheet.review)}));
    const long open = number_at(sheet.review, "unresolved");
    {
        const auto box = html.in("p", {{"class", open == 0 ? "unresolved" : "unresolved some"}});
        html.put("strong", sheet.speaker.count(T::unresolved, open));
        html.text(" " + sheet.say(open == 0 ? T::unresolved_none : T::unresolved_some));
    }
    json::Document made;
    made.root().add_string("at", making.at);
    const auto facts = html.in("dl", {{"class", "facts"}});
    put_fact(sheet, T::fact_person, person_of(sheet.review) + " (" + text_at(sheet.review, "person") + ")");
    put_fact(sheet, T::fact_period, period_of(sheet));
    put_fact(sheet, T::fact_known_at, sheet.when(sheet.review, "known_at"));
    put_fact(sheet, T::fact_zone, text_at(sheet.review, "zone"));
    put_fact(sheet, T::fact_from,
             sheet.say(T::provenance, {text_at(sheet.review, "hub"), making.version,
                                       sheet.when(made.root(), "at"), text_at(sheet.review, "entries")}));
}

void put_body(Sheet& sheet, const Making& making) {
    const auto body = sheet.html.in("body");
    put_head(sheet, making);
    const auto main = sheet.html.in("main");
    put_flags(sheet);
    put_exceptions(sheet);
    put_figures(sheet);
    put_dose_calendar(sheet);
    put_sites(sheet);
    put_lesion_curves(sheet);
    put_vials(sheet);
    {
        const auto pair = sheet.html.in("div", {{"class", "pair"}});
        put_data_quality(sheet);
        put_besides(sheet);
    }
    put_cautions(sheet);
}

}  // namespace

std::string report_page(const json::Value& review, const texts::Speaker& speaker, const Making& making) {
    Html html;
    Sheet sheet(html, review, speaker);
    {
        const auto page = html.in("html", {{"lang", std::string(texts::tag_of(speaker.language()))}});
        {
            const auto head = html.in("head");
            html.put("meta", {{"charset", "utf-8"}});
            html.put("meta", {{"http-equiv", "Content-Security-Policy"},
                              {"content", "default-src 'none'; style-src 'unsafe-inline'"}});
            html.put("meta", {{"name", "viewport"}, {"content", "width=device-width, initial-scale=1"}});
            html.put("meta", {{"name", "referrer"}, {"content", "no-referrer"}});
            html.put("title", sheet.say(T::title, {person_of(review), period_of(sheet)}));
            html.style(page_style);
        }
        put_body(sheet, making);
    }
    return html.document();
}

}  // namespace nightferry::report
