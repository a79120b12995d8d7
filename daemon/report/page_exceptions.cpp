// What somebody should look at before anything else: open flags, and whatever of the period was not as
// ordered.
#include <map>
#include <set>

#include "daemon/report/dose_marks.hpp"
#include "daemon/report/sheet.hpp"
#include "daemon/report/table.hpp"

namespace nightferry::report {

namespace json = fhir::json;

namespace {

// A small table that is there only if it has a row; otherwise its name goes to the list of what is not there.
class Group {
 public:
    Group(Sheet& sheet, T caption, std::vector<std::string>& without)
        : sheet_(sheet), caption_(caption), without_(without) {}

    void row(std::string when, std::string what) { rows_.emplace_back(std::move(when), std::move(what)); }

    void put() {
        if (rows_.empty()) {
            without_.push_back(sheet_.say(caption_));
            return;
        }
        const auto table = sheet_.html.in("table");
        sheet_.table_head(sheet_.say(caption_), {sheet_.say(T::column_when), sheet_.say(T::column_what)});
        const auto body = sheet_.html.in("tbody");
        for (const auto& [when, what] : rows_)
            sheet_.row({when, what});
    }

 private:
    Sheet& sheet_;
    T caption_;
    std::vector<std::string>& without_;
    std::vector<std::pair<std::string, std::string>> rows_;
};

class Exceptions {
 public:
    explicit Exceptions(Sheet& sheet) : sheet_(sheet) {
        for (const char* list : {"doses", "provisional"}) {
            for (const json::Value& dose : sheet.review.items_at(list))
                doses_[text_at(dose, "id")] = &dose;
        }
    }

    void put() {
        {
            const auto groups = sheet_.html.in("div", {{"class", "groups exceptions"}});
            slots();
            besides();
            provisional();
            doubles();
            amounts();
            sites();
            lesions();
            findings();
        }
        if (without_.empty()) return;
        std::string words;
        for (const std::string& one : without_)
            words += (words.empty() ? "" : "; ") + one;
        sheet_.html.put("p", {{"class", "without"}}, sheet_.say(T::nothing_under, {words}));
    }

 private:
    Group group(T caption) { return {sheet_, caption, without_}; }

    std::string amount(const json::Value& dose) const {
        return sheet_.number(dose, "amount") + " " + text_at(dose, "unit");
    }

    void slots() {
        Group rows = group(T::slots_other);
        for (const json::Value& slot : sheet_.review.items_at("slots")) {
            const std::string fate = text_at(slot, "fate");
            if (fate == "due" || mark_of(slot) == "on_time") continue;
            std::string words = sheet_.word(slot, fate == "given" ? "timing" : "fate");
            if (fate == "given") words = sheet_.say(T::off_by, {words, sheet_.span(slot, "deviation_min")});
            if (const std::string why = text_at(slot, "why"); !why.empty() && why != "clinic_hold")
                words += ": " + sheet_.word(slot, "why");
            if (const std::string who = text_at(slot, "instructed_by"); !who.empty())
                words += "; " + sheet_.say(T::said_by, {who});
            rows.row(sheet_.when(slot, "due"), words);
        }
        rows.put();
    }

    void besides() {
        Group rows = group(T::doses_besides);
        for (const json::Value& dose : sheet_.review.items_at("doses")) {
            const bool while_held = flag_at(dose, "while_held");
            if (!flag_at(dose, "extra") && !while_held) continue;
            rows.row(sheet_.when(dose, "given"),
                     sheet_.say(while_held ? T::given_while_held : T::given_besides,
                                {amount(dose), text_at(dose, "by"), sheet_.site(dose)}));
        }
        rows.put();
    }

    void provisional() {
        Group rows = group(T::provisional_doses);
        for (const json::Value& dose : sheet_.review.items_at("provisional"))
            rows.row(sheet_.when(dose, "given"),
                     sheet_.say(T::given_besides, {amount(dose), text_at(dose, "by"), sheet_.site(dose)}));
        rows.put();
    }

    void doubles() {
        Group rows = group(T::doubles);
        for (const json::Value& one : sheet_.review.items_at("doubles")) {
            const auto later = doses_.find(text_at(one, "later"));
            const json::Value* decided = one.find("decided");
            const bool is_decided = decided != nullptr && decided->boolean();
            rows.row(later == doses_.end() ? std::string() : sheet_.when(*later->second, "given"),
                     sheet_.say(is_decided ? T::double_decided : T::double_open,
                                {sheet_.word(one, "kind"), sheet_.span(one, "apart_min")}));
        }
        rows.put();
    }

    void amounts() {
        Group rows = group(T::amounts_other);
        for (const json::Value& dose : sheet_.review.items_at("doses")) {
            if (!is_other_amount(dose)) continue;
            const std::string percent = sheet_.number(dose, "percent_of_order");
            rows.row(sheet_.when(dose, "given"),
                     sheet_.word(dose, "verdict") + ": " + amount(dose) +
                         (percent.empty() ? "" : ", " + sheet_.say(T::percent_of_order, {percent})));
        }
        rows.put();
    }

    void sites() {
        Group rows = group(T::site_notes);
        const json::Value* found = sheet_.review.find("sites");
        if (found == nullptr) return rows.put();
        // One row for a dose, whatever is to be noted of it.
        const auto notes = found->items_at("notes");
        for (auto note = notes.begin(); note != notes.end();) {
            const std::string id = text_at(*note, "dose");
            std::string words;
            for (; note != notes.end() && text_at(*note, "dose") == id; ++note)
                words += (words.empty() ? ": " : "; ") + site_note_words(sheet_, *note);
            if (const auto dose = doses_.find(id); dose != doses_.end())
                rows.row(sheet_.when(*dose->second, "given"), sheet_.site(*dose->second) + words);
        }
        rows.put();
    }

    void lesions() {
        Group rows = group(T::lesions_there);
        for (const json::Value& lesion : sheet_.review.items_at("lesions")) {
            if (lesion.find("resolved") != nullptr) continue;
            rows.row(sheet_.when(lesion, "first_seen"), lesion_words(sheet_, lesion));
        }
        rows.put();
    }

    void findings() {
        Group rows = group(T::findings_elsewhere);
        for (const json::Value& finding : sheet_.review.items_at("findings")) {
            std::string words = sheet_.word(finding, "finding");
            if (const std::string minutes = sheet_.number(finding, "minutes"); !minutes.empty())
                words += ", " + minutes + " min";
            if (!flag_at(finding, "present")) words += ", " + sheet_.say(T::not_there);
            if (const std::string note = text_at(finding, "note"); !note.empty())
                words += ": \u201C" + note + "\u201D";
            rows.row(sheet_.when(finding, "at"), words);
        }
        rows.put();
    }

    Sheet& sheet_;
    std::map<std::string, const json::Value*> doses_;
    std::vector<std::string> without_;
};

// The reasons are the daemon's, and so in its language.
void put_in_english(Sheet& sheet, Html::Name element, std::string_view words) {
    if (sheet.speaker.language() == texts::Language::english) {
        sheet.html.put(element, words);
    } else {
        sheet.html.put(element, {{"lang", "en"}}, words);
    }
}

// What the levels mean, once each.
void put_levels(Sheet& sheet) {
    std::set<std::string> told;
    const auto levels = sheet.html.in("div", {{"class", "levels"}});
    for (const json::Value& flag : sheet.review.items_at("flags")) {
        const std::string words = text_at(flag, "text");
        if (words.empty() || !told.insert(text_at(flag, "level")).second) continue;
        const auto line = sheet.html.in("p", {{"class", "level-text"}});
        sheet.html.put("b", sheet.word(flag, "level") + ": ");
        put_in_english(sheet, "span", words);
    }
}

}  // namespace

std::string lesion_words(const Sheet& sheet, const json::Value& lesion) {
    const std::string label = text_at(lesion, "lesion");
    const std::string site = sheet.site(lesion);
    return sheet.word(lesion, "finding") + (label.empty() ? "" : " " + label) +
           (site.empty() ? "" : ", " + site);
}

void put_flags(Sheet& sheet) {
    const Section section(sheet, "first", T::look_first);
    Html& html = sheet.html;
    if (sheet.review.items_at("flags").empty()) {
        html.put("p", sheet.say(T::no_flags));
        return;
    }
    {
        const auto table = html.in("table", {{"class", "flags"}});
        sheet.table_head(sheet.say(T::flags_caption), {sheet.say(T::column_level), sheet.say(T::column_about),
                                                       sheet.say(T::column_reason)});
        const auto body = html.in("tbody");
        for (const json::Value& flag : sheet.review.items_at("flags")) {
            const std::string level = text_at(flag, "level");
            const auto row = html.in("tr", {{"class", level}});
            {
                const auto cell = html.in("th", {{"scope", "row"}});
                html.put("span", {{"class", "level"}}, sheet.word(flag, "level"));
            }
            html.put("td", sheet.when(flag, "about"));
            put_in_english(sheet, "td", text_at(flag, "reason"));
        }
    }
    put_levels(sheet);
}

void put_exceptions(Sheet& sheet) {
    const Section section(sheet, "exceptions", T::other_than_ordered);
    Exceptions(sheet).put();
}

}  // namespace nightferry::report
