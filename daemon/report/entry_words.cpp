#include "daemon/report/entry_words.hpp"

#include "daemon/report/table.hpp"

namespace nightferry::report {

namespace json = fhir::json;

std::string what_text(const json::Value& entry) {
    const std::string type = text_at(entry, "type");
    if (type == "dose_given") {
        return "dose " + text_at(entry, "amount") + " " + text_at(entry, "unit") + " " +
               text_at(entry, "medicine");
    }
    if (type == "dose_not_given") return "dose not given: " + spaced(text_at(entry, "why"));
    if (type == "finding") {
        std::string text = spaced(text_at(entry, "finding"));
        if (!flag_at(entry, "present")) text += " gone";
        if (const std::string length = text_at(entry, "length_cm");
            !length.empty() && flag_at(entry, "present")) {
            text += " " + length;
            if (const std::string width = text_at(entry, "width_cm"); !width.empty()) text += " x " + width;
            text += " cm";
        }
        return text;
    }
    if (type == "weight") return "weight " + text_at(entry, "kg") + " kg, " + text_at(entry, "how");
    if (type == "summary") return "summary of the " + text_at(entry, "of") + " " + text_at(entry, "first");
    return "vial " + text_at(entry, "vial") + " opened";
}

// "2026-10-12 08:00 +01:00"
std::string time_text(const std::string& written) {
    if (written.size() < 16) return written;
    const bool utc = written.back() == 'Z';
    return written.substr(0, 10) + " " + written.substr(11, 5) + " " +
           (utc ? std::string("UTC") : written.substr(written.size() - 6));
}

std::string by_words(const std::string& carer) {
    return "by " + (carer.empty() ? "the hub" : carer);
}

std::vector<std::string> entry_cells(const json::Value& entry) {
    std::string what = what_text(entry);
    if (flag_at(entry, "retracted")) what = "RETRACTED " + what;
    return {time_text(text_at(entry, "time")), text_at(entry, "person"), what, site_text(entry),
            by_words(text_at(entry, "by"))};
}

}  // namespace nightferry::report
