// The rest of the record: vials, weighings, how far the record itself can be trusted, and what it is not.
#include "daemon/report/sheet.hpp"
#include "daemon/report/table.hpp"

namespace nightferry::report {

namespace json = fhir::json;

namespace {

// "270 mg", in the unit that the figures have for that medicine.
std::string content_words(const Sheet& sheet, const json::Value& vial) {
    const json::Value* figures = sheet.review.find("figures");
    std::string words = sheet.number(vial, "content_given");
    if (figures == nullptr) return words;
    for (const json::Value& content : figures->items_at("contents")) {
        if (text_at(content, "medicine") == text_at(vial, "medicine"))
            words += " " + text_at(content, "unit");
    }
    return words;
}

void put_vial_table(Sheet& sheet) {
    const Scrolls scrolls(sheet, T::vials);
    const auto table = sheet.html.in("table", {{"class", "numbers"}});
    sheet.table_head(sheet.say(T::vials_caption),
                     {sheet.say(T::column_vial), sheet.say(T::column_opened), sheet.say(T::column_draws),
                      sheet.say(T::column_injected), sheet.say(T::column_lost), sheet.say(T::column_left),
                      sheet.say(T::column_content), sheet.say(T::column_discard), sheet.say(T::column_lot)});
    const auto body = sheet.html.in("tbody");
    for (const json::Value& vial : sheet.review.items_at("vials")) {
        const std::string left = sheet.number(vial, "left_ml");
        sheet.row({text_at(vial, "vial"), sheet.when(vial, "opened"), sheet.number(vial, "draws"),
                   sheet.number(vial, "injected_ml"), sheet.number(vial, "lost_ml"),
                   left.empty() ? sheet.say(T::not_known) : left, content_words(sheet, vial),
                   sheet.date(vial, "discard_on"), text_at(vial, "lot")});
    }
}

void put_forecast(Sheet& sheet) {
    const json::Value* forecast = sheet.review.find("forecast");
    if (forecast == nullptr) return;
    const std::string covered = sheet.number(*forecast, "doses_left");
    const std::string uncovered = sheet.when(*forecast, "first_uncovered");
    std::string words = sheet.say(T::covers, {covered, uncovered});
    if (uncovered.empty())
        words = covered == "0" ? sheet.say(T::covers_none) : sheet.say(T::covers_all, {covered});
    if (const std::string last = sheet.when(*forecast, "last_covered"); !last.empty())
        words += " " + sheet.say(T::last_covered, {last});
    if (const std::string rest = sheet.number(*forecast, "rest_ml"); !rest.empty())
        words += " " + sheet.say(T::rest_left, {rest});
    sheet.html.put("p", words);
}

void put_supply(Sheet& sheet) {
    const json::Value* supply = sheet.review.find("supply");
    if (supply == nullptr) return;
    const auto table = sheet.html.in("table", {{"class", "numbers narrow"}});
    sheet.table_head(sheet.say(T::supply_caption), {sheet.say(T::column_what), sheet.say(T::column_of), "%"});
    const auto body = sheet.html.in("tbody");
    for (const auto& [name, text] :
         {std::pair{"days_covered", T::supply_covered}, std::pair{"days_obtained", T::supply_obtained}}) {
        if (const json::Value* share = supply->find(name))
            sheet.row({sheet.say(text), sheet.number(*share, "n") + " / " + sheet.number(*share, "of"),
                       sheet.percent(*share)});
    }
}

void put_vial_notes(Sheet& sheet) {
    if (sheet.review.items_at("vial_notes").empty()) return;
    const auto table = sheet.html.in("table");
    sheet.table_head(sheet.say(T::vial_notes_caption),
                     {sheet.say(T::column_vial), sheet.say(T::column_note), sheet.say(T::column_limit)});
    const auto body = sheet.html.in("tbody");
    for (const json::Value& note : sheet.review.items_at("vial_notes"))
        sheet.row({text_at(note, "vial"), sheet.word(note, "concern"), sheet.when(note, "limit")});
}

}  // namespace

void put_vials(Sheet& sheet) {
    const Section section(sheet, "vials", T::vials);
    if (sheet.review.items_at("vials").empty()) {
        sheet.html.put("p", sheet.say(T::no_vials));
    } else {
        put_vial_table(sheet);
        put_forecast(sheet);
    }
    put_vial_notes(sheet);
    put_supply(sheet);
}

void put_besides(Sheet& sheet) {
    if (sheet.review.items_at("weights").empty()) return;
    const Section section(sheet, "weights", T::weights);
    const auto table = sheet.html.in("table", {{"class", "numbers narrow"}});
    sheet.table_head(sheet.say(T::weights_caption),
                     {sheet.say(T::column_when), "kg", sheet.say(T::column_how)});
    const auto body = sheet.html.in("tbody");
    for (const json::Value& weight : sheet.review.items_at("weights"))
        sheet.row({sheet.when(weight, "at"), sheet.number(weight, "kg"), sheet.word(weight, "how")});
}

void put_data_quality(Sheet& sheet) {
    const Section section(sheet, "quality", T::quality);
    const json::Value* figures = sheet.review.find("figures");
    const std::string lag =
        figures == nullptr ? std::string() : sheet.span(*figures, "longest_entry_lag_min");
    {
        const auto table = sheet.html.in("table", {{"class", "numbers narrow"}});
        sheet.table_head(sheet.say(T::quality_caption),
                         {sheet.say(T::column_what), sheet.say(T::column_number)});
        const auto body = sheet.html.in("tbody");
        sheet.row({sheet.say(T::longest_lag), lag.empty() ? sheet.say(T::none) : lag});
        sheet.row({sheet.say(T::unresolved_items), sheet.number(sheet.review, "unresolved")});
        sheet.row({sheet.say(T::unreadable), std::to_string(sheet.review.find("unreadable") == nullptr
                                                                ? 0
                                                                : sheet.review.find("unreadable")->size())});
        sheet.row({sheet.say(T::entries_known), sheet.number(sheet.review, "entries")});
    }
    if (sheet.review.items_at("unreadable").empty()) return;
    sheet.html.put("p", sheet.say(T::unreadable_list));
    const auto list = sheet.html.in("ul");
    for (const json::Value& id : sheet.review.items_at("unreadable")) {
        const auto item = sheet.html.in("li");
        sheet.html.put("code", id.text());
    }
}

void put_cautions(Sheet& sheet) {
    const Section section(sheet, "cautions", T::cautions);
    const auto list = sheet.html.in("ul", {{"class", "cautions"}});
    for (const T text : {T::caution_record, T::caution_watch, T::caution_practice, T::caution_emergency,
                         T::rests_on_slots, T::rests_on_figures, T::rests_on_sites, T::rests_on_format})
        sheet.html.put("li", sheet.say(text));
}

}  // namespace nightferry::report
