#include "daemon/report/review_text.hpp"

#include "daemon/core/words.hpp"
#include "daemon/core/zone.hpp"
#include "daemon/report/table.hpp"

namespace nightferry::report {

namespace json = fhir::json;

namespace {

// "2026-10-12 08:00", or the text itself when it is no time.
std::string clock_text(const std::string& written, const Zone* zone) {
    const auto moment = parse_moment(written);
    if (!moment) return written;
    const std::string text = to_text(zone == nullptr ? *moment : zone->at(moment->at));
    return text.substr(0, 10) + " " + text.substr(11, 5);
}

// "2 h 15 min"
std::string span_text(const std::string& minutes_text) {
    if (minutes_text.empty()) return "none";
    const bool negative = minutes_text.front() == '-';
    const long minutes = std::stol(negative ? minutes_text.substr(1) : minutes_text);
    const std::string sign = negative ? "-" : "";
    if (minutes < 60) return sign + std::to_string(minutes) + " min";
    return sign + std::to_string(minutes / 60) + " h " + std::to_string(minutes % 60) + " min";
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

std::string flag_line(const json::Value& flag) {
    const std::string state = text_at(flag, "state");
    std::string line = text_at(flag, "level") + ": " + text_at(flag, "reason");
    if (!state.empty() && state != "open") line += " [" + state + "]";
    return line;
}

class Page {
 public:
    explicit Page(const json::Value& review) : review_(review) {
        if (const auto zone = Zone::find(text_at(review, "zone"))) zone_ = *zone;
    }

    std::string text() {
        head();
        flags();
        figures();
        weeks();
        exceptions();
        sites();
        lesions();
        vials();
        return text_ + "\n" + std::string(footer());
    }

 private:
    std::string clock(const json::Value& object, std::string_view name) const {
        return clock_text(text_at(object, name), zone_ ? &*zone_ : nullptr);
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
        title("To look at");
        Table table;
        for (const json::Value& flag : review_.items_at("flags"))
            table.row({"  " + clock(flag, "about"), flag_line(flag)});
        text_ += table.is_empty() ? "  nothing; that does not say that nothing happened\n" : table.text();
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
                       text_at(content, "given") + " given, " + text_at(content, "ordered") + " ordered"});
        if (const json::Value* counts = found->find("counts")) {
            table.row({"  times", counted_text(*counts, {"on_time", "early", "late", "very_late"})});
            table.row(
                {"  not given, or not known", counted_text(*counts, {"missed", "no_record", "held", "due"})});
            table.row({"  besides", counted_text(*counts, {"extra", "provisional"})});
        }
        for (const json::Value& carer : found->items_at("carers"))
            table.row(
                {"  by " + text_at(carer, "carer"),
                 text_at(carer, "given") + " given; in the narrow window " + share_text(carer, "near_time")});
        table.row({"  longest gap", span_text(text_at(*found, "longest_gap_min"))});
        table.row({"  longest time until it was written down",
                   span_text(text_at(*found, "longest_entry_lag_min"))});
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
            if (fate == "given" && timing == "on_time") continue;
            rows.push_back({"  " + clock(slot, "due"),
                            fate == "given"
                                ? spaced(timing) + ", " + span_text(text_at(slot, "deviation_min"))
                                : spaced(fate)});
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
        if (const json::Value* next = found->find("next_in_configured_order"))
            text_ += "  the clinic's order names next: " + site_text(*next) + "\n";
    }

    void lesions() {
        Table table;
        for (const json::Value& lesion : review_.items_at("lesions")) {
            const json::Value* last = nullptr;
            for (const json::Value& look : lesion.items_at("looks"))
                last = &look;
            std::string state =
                lesion.find("resolved") == nullptr ? "there" : "gone " + clock(lesion, "resolved");
            if (last != nullptr && lesion.find("resolved") == nullptr) {
                const std::string length = text_at(*last, "length_cm");
                state +=
                    ", " + spaced(text_at(*last, "trend")) + (length.empty() ? "" : ", " + length + " cm");
            }
            table.row({"  " + spaced(text_at(lesion, "finding")) + " " + text_at(lesion, "lesion"),
                       site_text(lesion), "seen " + clock(lesion, "first_seen"), state});
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
            const bool covers = forecast->find("first_uncovered") == nullptr;
            text_ += "  doses left in open vials: " + text_at(*forecast, "doses_left") +
                     (covers ? std::string()
                             : "; first dose not covered: " + clock(*forecast, "first_uncovered")) +
                     "\n";
        }
        if (const json::Value* supply = review_.find("supply"))
            text_ += "  days covered by vials opened: " + share_text(*supply, "days_covered") +
                     " (for refills only)\n";
    }

    const json::Value& review_;
    std::optional<Zone> zone_;
    std::string text_;
};

}  // namespace

std::string_view footer() {
    return "Computed from what was written down here; nobody watches it as it happens. What to do about it "
           "is for\n"
           "your clinic to say. In an emergency call your local emergency number.\n";
}

std::string review_text(const json::Value& review) {
    return Page(review).text();
}

std::string flags_text(const json::Value& flags) {
    std::string text;
    for (const json::Value& flag : flags.items_at("flags")) {
        text +=
            flag_line(flag) + "\n    " + text_at(flag, "text") + "\n    key: " + text_at(flag, "key") + "\n";
    }
    if (text.empty()) text = "No flags are open. That does not say that nothing happened.\n";
    return text + "\n" + std::string(footer());
}

std::string since_dose_text(const json::Value& since) {
    std::string text;
    if (since.find("dose") == nullptr) {
        text = "No dose is recorded before " + text_at(since, "at") + ".\n";
    } else {
        text = span_text(text_at(since, "elapsed_min")) + " since the last recorded dose, given " +
               text_at(since, "given") + ".\n";
    }
    if (flag_at(since, "provisional"))
        text += "That dose is provisional: it may have been written down twice. Before it: " +
                span_text(text_at(since, "certain_elapsed_min")) + ".\n";
    if (const json::Value* window = since.find("window");
        window != nullptr && window->find("inside") != nullptr) {
        text += std::string(flag_at(*window, "inside") ? "Inside" : "Outside") + " the clinic's window of " +
                text_at(*window, "from_min") + " to " + text_at(*window, "to_min") + " min after a dose";
        const std::string by = text_at(*window, "outside_by_min");
        text += by.empty() ? ".\n" : ", by " + span_text(by) + ".\n";
    }
    if (!flag_at(since, "settled"))
        text +=
            "Something in the 24 hours before is unresolved, so this time may not be true; see nightferry "
            "flags.\n";
    return text + "\n" + std::string(footer());
}

}  // namespace nightferry::report
