// Where injections lie: the drawing, and beside it tables with the same facts.
#include <algorithm>
#include <map>

#include "daemon/report/body_map.hpp"
#include "daemon/report/table.hpp"

namespace nightferry::report {

namespace json = fhir::json;

namespace {

std::vector<RecentInjection> recent_in(const json::Value& sites) {
    std::map<std::string, std::vector<const json::Value*>> notes;
    for (const json::Value& note : sites.items_at("notes"))
        notes[text_at(note, "dose")].push_back(&note);
    std::vector<RecentInjection> recent;
    for (const json::Value& zone : sites.items_at("zones")) {
        for (const json::Value& one : zone.items_at("recent"))
            recent.push_back({&zone, &one, notes[text_at(one, "dose")], 0});
    }
    // Instants of one form rise as texts do.
    std::ranges::stable_sort(recent, std::ranges::greater{},
                             [](const RecentInjection& one) { return one.injection->string_at("given"); });
    int number = 0;
    for (RecentInjection& one : recent)
        one.number = ++number;
    return recent;
}

void put_zones(Sheet& sheet, const json::Value& sites) {
    const Scrolls scrolls(sheet, T::column_zone);
    const auto table = sheet.html.in("table", {{"class", "numbers"}});
    sheet.table_head(
        sheet.say(T::zones_caption),
        {sheet.say(T::column_zone), sheet.say(T::column_in_period), sheet.say(T::column_recent),
         sheet.say(T::column_last), sheet.say(T::column_unused_for), sheet.say(T::column_rests)});
    const auto body = sheet.html.in("tbody");
    for (const json::Value& zone : sites.items_at("zones")) {
        std::string rest = sheet.say(T::no);
        if (flag_at(zone, "rests"))
            rest = zone.find("rests_until") == nullptr
                       ? sheet.say(T::rests_for_lump)
                       : sheet.say(T::rests_until, {sheet.when(zone, "rests_until")});
        sheet.row({sheet.zone(zone), sheet.number(zone, "injections"),
                   sheet.number(zone, "recent_injections"), sheet.when(zone, "last"),
                   sheet.span(zone, "unused_for_min"), rest});
    }
}

void put_injections(Sheet& sheet, const std::vector<RecentInjection>& recent) {
    if (recent.empty()) return;
    const auto table = sheet.html.in("table", {{"class", "injections"}});
    sheet.table_head(sheet.say(T::recent_caption),
                     {sheet.say(T::column_no), sheet.say(T::column_given_at), sheet.say(T::column_where)});
    const auto body = sheet.html.in("tbody");
    for (const RecentInjection& one : recent) {
        std::string where = sheet.zone(*one.zone) + ", " + spot_words(sheet, *one.injection);
        for (const json::Value* note : one.notes)
            where += "; " + site_note_words(sheet, *note);
        sheet.row({std::to_string(one.number), sheet.when(*one.injection, "given"), where});
    }
}

}  // namespace

std::string site_note_words(const Sheet& sheet, const json::Value& note) {
    const std::string distance = sheet.number(note, "distance_cm");
    const std::string limit = sheet.number(note, "limit_cm");
    std::string words = sheet.word(note, "concern");
    if (!distance.empty()) words += ", " + sheet.say(T::distance_of, {distance, limit});
    if (const std::string why = text_at(note, "why"); !why.empty()) words += " (" + why + ")";
    return words;
}

void put_sites(Sheet& sheet) {
    const Section section(sheet, "sites", T::sites);
    const json::Value* sites = sheet.review.find("sites");
    if (sites == nullptr || sites->items_at("zones").empty()) {
        sheet.html.put("p", sheet.say(T::no_sites));
        return;
    }
    const auto recent = recent_in(*sites);
    {
        const auto parts = sheet.html.in("div", {{"class", "beside"}});
        {
            const auto left = sheet.html.in("div");
            draw_body(sheet, *sites, recent);
        }
        const auto right = sheet.html.in("div");
        put_injections(sheet, recent);
        if (const json::Value* next = sites->find("next_in_configured_order"))
            sheet.html.put("p", sheet.say(T::next_zone, {sheet.zone(*next)}));
    }
    put_zones(sheet, *sites);
}

}  // namespace nightferry::report
