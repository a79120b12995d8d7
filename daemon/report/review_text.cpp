#include "daemon/report/review_text.hpp"

#include <map>

#include "daemon/core/decimal.hpp"
#include "daemon/report/home_clock.hpp"
#include "daemon/report/table.hpp"

namespace nightferry::report {

namespace json = fhir::json;

namespace {

// ", 97.3 %", or nothing where it cannot be calculated.
std::string percent_text(const json::Value& object) {
    const std::string percent = text_at(object, "percent");
    return percent.empty() ? percent : ", " + percent + " %";
}

// "37 of 39, 94.9 %"
std::string share_text(const json::Value& object, std::string_view name) {
    const json::Value* share = object.find(name);
    if (share == nullptr) return "not calculable";
    const std::string percent = text_at(*share, "percent");
    return text_at(*share, "n") + " of " + text_at(*share, "of") +
           (percent.empty() ? ", not calculable" : ", " + percent + " %");
}

// "on time 34, early 1"
std::string counted_text(const json::Value& counts, std::initializer_list<const char*> names) {
    std::string text;
    for (const char* name : names)
        text += (text.empty() ? "" : ", ") + spaced(name) + " " + text_at(counts, name);
    return text;
}

class Page {
 public:
    explicit Page(const json::Value& review) : review_(review), home_(review) {}

    std::string text() {
        head();
        flags();
        figures();
        weeks();
        exceptions();
        sites();
        lesions();
        elsewhere();
        vials();
        return text_ + "\n" + std::string(footer());
    }

 private:
    std::string clock(const json::Value& object, std::string_view name) const {
        return home_.text(text_at(object, name));
    }
    void title(const std::string& words) { text_ += "\n" + words + "\n"; }

    void head() {
        Table table;
        table.row({"Report", text_at(review_, "person")});
        table.row({"period", clock(review_, "from") + " until " + clock(review_, "to") + ", " +
                                 text_at(review_, "zone")});
        table.row({"known at", clock(review_, "known_at")});
        table.row({"unresolved", text_at(review_, "unresolved")});
        text_ += table.text();
    }

    void flags() {
        title("To look at (open when it was known, of whatever day)");
        bool any = false;
        for (const json::Value& flag : review_.items_at("flags")) {
            text_ += wrapped(text_at(flag, "level") + ": " + text_at(flag, "reason"), "  ");
            any = true;
        }
        if (!any) text_ += "  nothing; that does not say that nothing happened\n";
        for (const json::Value& dose : review_.items_at("provisional")) {
            text_ += wrapped("provisional, in no figure: " + text_at(dose, "amount") + " " +
                                 text_at(dose, "unit") + " at " + clock(dose, "given") + " by " +
                                 text_at(dose, "by"),
                             "  ");
        }
    }

    void figures() {
        const json::Value* found = review_.find("figures");
        if (found == nullptr) return;
        title("Doses");
        Table table;
        const auto row = [&](const char* words, std::string_view name) {
            table.row({std::string("  ") + words, share_text(*found, name)});
        };
        row("scheduled and given", "slots_filled");
        row("given, extra ones too, of those scheduled", "taken");
        row("within the narrow time window", "near_time");
        row("within the wide time window", "wide_time");
        row("in the ordered amount, of those given", "ordered_amount");
        row("days with as many as ordered", "days_as_ordered");
        row("days with at least as many", "days_covered");
        row("intervals within their limits", "intervals");
        for (const json::Value& content : found->items_at("contents"))
            table.row({"  content of " + text_at(content, "medicine"),
                       text_at(content, "given") + " of " + text_at(content, "ordered") + " " +
                           text_at(content, "unit") + percent_text(content)});
        if (const json::Value* counts = found->find("counts")) {
            table.row({"  times", counted_text(*counts, {"on_time", "early", "late", "very_late"})});
            table.row({"  not given, or not known",
                       counted_text(*counts, {"missed", "no_record", "undecided", "held", "due"})});
            table.row({"  besides", counted_text(*counts, {"extra", "provisional"})});
        }
        for (const json::Value& carer : found->items_at("carers"))
            table.row(
                {"  by " + text_at(carer, "carer"),
                 text_at(carer, "given") + " given; in the narrow window " + share_text(carer, "near_time")});
        table.row({"  longest gap", span_size_text(text_at(*found, "longest_gap_min"))});
        table.row({"  longest time until it was written down",
                   span_size_text(text_at(*found, "longest_entry_lag_min"))});
        text_ += table.text();
    }

    void weeks() {
        Table table;
        for (const json::Value& week : review_.items_at("weeks")) {
            if (const json::Value* of_week = week.find("figures"))
                table.row({"  from " + clock(week, "from"), share_text(*of_week, "slots_filled")});
        }
        if (table.is_empty()) return;
        title("Scheduled and given, by week");
        text_ += table.text();
    }

    // Scheduled doses that were not simply given on time, newest first.
    void exceptions() {
        std::vector<std::vector<std::string>> rows;
        for (const json::Value& slot : review_.items_at("slots")) {
            const std::string fate = text_at(slot, "fate");
            const std::string timing = text_at(slot, "timing");
            if ((fate == "given" && timing == "on_time") || fate == "due") continue;
            const std::string why = text_at(slot, "why");
            std::string words =
                fate == "given" ? spaced(timing) + ", by " + span_size_text(text_at(slot, "deviation_min"))
                                : spaced(fate);
            if (!why.empty() && why != "clinic_hold") words += " (" + spaced(why) + ")";
            if (const std::string who = text_at(slot, "instructed_by"); !who.empty())
                words += ", said by " + who;
            rows.push_back({"  " + clock(slot, "due"), words});
        }
        if (rows.empty()) return;
        title("Scheduled doses other than on time");
        Table table;
        for (auto row = rows.rbegin(); row != rows.rend(); ++row)
            table.row(*row);
        text_ += table.text();
    }

    void sites() {
        const json::Value* found = review_.find("sites");
        if (found == nullptr) return;
        Table table;
        for (const json::Value& zone : found->items_at("zones")) {
            std::string rest = zone.find("last") == nullptr ? "unused" : "last used " + clock(zone, "last");
            if (flag_at(zone, "rests"))
                rest += zone.find("rests_until") == nullptr ? ", rests because of a lump"
                                                            : ", rests until " + clock(zone, "rests_until");
            table.row({"  " + site_text(zone), text_at(zone, "recent_injections") + " recent", rest});
        }
        if (table.is_empty()) return;
        title("Where injections lie");
        text_ += table.text();
        site_notes(*found);
        if (const json::Value* next = found->find("next_in_configured_order"))
            text_ += "  the clinic's order names next: " + site_text(*next) + "\n";
    }

    void site_notes(const json::Value& sites) {
        std::map<std::string, std::string> given;
        for (const json::Value& dose : review_.items_at("doses"))
            given[text_at(dose, "id")] = clock(dose, "given") + ", " + site_text(dose);
        Table table;
        for (const json::Value& note : sites.items_at("notes")) {
            const std::string distance = text_at(note, "distance_cm");
            table.row({"  " + given[text_at(note, "dose")],
                       spaced(text_at(note, "concern")) +
                           (distance.empty() ? std::string()
                                             : ", " + distance + " cm of " + text_at(note, "limit_cm"))});
        }
        if (table.is_empty()) return;
        title("Injection sites to note");
        text_ += table.text();
    }

    // "5.0 x 3.5 cm", the longest of all looks.
    static std::string largest(const json::Value& lesion) {
        const json::Value* most = nullptr;
        for (const json::Value& look : lesion.items_at("looks")) {
            if (look.find("length_cm") == nullptr) continue;
            const auto length = [](const json::Value& one) {
                return Decimal::parse(text_at(one, "length_cm"));
            };
            if (most == nullptr || length(look) > length(*most)) most = &look;
        }
        if (most == nullptr) return {};
        const std::string width = text_at(*most, "width_cm");
        return "up to " + text_at(*most, "length_cm") + (width.empty() ? "" : " x " + width) + " cm";
    }

    void elsewhere() {
        Table table;
        for (const json::Value& finding : review_.items_at("findings")) {
            const std::string minutes = text_at(finding, "minutes");
            table.row({"  " + clock(finding, "at"),
                       spaced(text_at(finding, "finding")) +
                           (minutes.empty() ? "" : ", " + minutes + " min") +
                           (flag_at(finding, "present") ? "" : ", not there"),
                       text_at(finding, "note")});
        }
        for (const json::Value& weight : review_.items_at("weights"))
            table.row({"  " + clock(weight, "at"),
                       "weight " + text_at(weight, "kg") + " kg, " + text_at(weight, "how")});
        if (table.is_empty()) return;
        title("Besides");
        text_ += table.text();
    }

    void lesions() {
        Table table;
        for (const json::Value& lesion : review_.items_at("lesions")) {
            const json::Value* last = nullptr;
            for (const json::Value& look : lesion.items_at("looks"))
                last = &look;
            std::string state = lesion.find("resolved") == nullptr
                                    ? "last seen " + (last == nullptr ? "" : clock(*last, "at"))
                                    : "gone " + clock(lesion, "resolved");
            table.row({"  " + spaced(text_at(lesion, "finding")) + " " + text_at(lesion, "lesion"),
                       site_text(lesion), "first seen " + clock(lesion, "first_seen"), state,
                       largest(lesion)});
        }
        if (table.is_empty()) return;
        title("Seen at sites");
        text_ += table.text();
    }

    void vials() {
        Table table;
        for (const json::Value& vial : review_.items_at("vials")) {
            const std::string left = text_at(vial, "left_ml");
            table.row({"  " + text_at(vial, "vial"), "opened " + clock(vial, "opened"),
                       text_at(vial, "draws") + " draws", left.empty() ? "rest not known" : left + " mL left",
                       "discard date " + text_at(vial, "discard_on")});
        }
        if (table.is_empty()) return;
        title("Vials");
        text_ += table.text();
        if (const json::Value* forecast = review_.find("forecast")) {
            const std::string covered = text_at(*forecast, "doses_left");
            const bool all = forecast->find("first_uncovered") == nullptr;
            text_ +=
                wrapped("open vials cover " +
                            (all ? covered == "0" ? std::string("no dose, and none is ordered from then on")
                                                  : "all " + covered + " doses that are ordered from then on"
                                 : covered + " doses to come; the first not covered is that of " +
                                       clock(*forecast, "first_uncovered")),
                        "  ");
        }
        if (const json::Value* supply = review_.find("supply"))
            text_ += "  days covered by vials opened: " + share_text(*supply, "days_covered") +
                     " (for refills only)\n";
    }

    const json::Value& review_;
    HomeClock home_;
    std::string text_;
};

}  // namespace

std::string review_text(const json::Value& review) {
    return Page(review).text();
}

}  // namespace nightferry::report
