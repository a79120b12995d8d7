#include "daemon/report/orders_text.hpp"

#include "daemon/report/home_clock.hpp"
#include "daemon/report/review_text.hpp"
#include "daemon/report/table.hpp"

namespace nightferry::report {

namespace json = fhir::json;

namespace {

std::string or_none(std::string text, const std::string& none) {
    return text.empty() ? none : text;
}

std::string dose_text(const json::Value& dose, const HomeClock& home) {
    std::string text = or_none(text_at(dose, "ordered_amount"), "no amount") + ", " +
                       or_none(text_at(dose, "ordered_times"), "no times");
    if (flag_at(dose, "as_needed")) text += ", as needed";
    if (const std::string from = text_at(dose, "begins"); !from.empty()) text += ", from " + home.text(from);
    if (const std::string until = text_at(dose, "ends"); !until.empty())
        text += ", before " + home.text(until);
    std::string lines = wrapped(text, "    ");
    if (const std::string words = text_at(dose, "clinics_words"); !words.empty())
        lines += wrapped("in the clinic's words: \"" + words + "\"", "      ");
    return lines;
}

std::string order_text(const json::Value& order, const HomeClock& home) {
    const std::string status = text_at(order, "status");
    std::string text = text_at(order, "reference") + " (" + status +
                       "): " + or_none(text_at(order, "ordered_medicine"), "no words for the medicine");
    if (const std::string strength = text_at(order, "ordered_strength"); !strength.empty())
        text += ", " + strength;
    std::string lines = wrapped(text + "; seen like this since " + home.text(text_at(order, "seen")), "  ");
    for (const json::Value& dose : order.items_at("ordered_doses"))
        lines += dose_text(dose, home);
    return lines;
}

std::string heading_of(const json::Value& comparison) {
    std::string names;
    for (const json::Value& one : comparison.items_at("references"))
        names += (names.empty() ? "" : ", ") + std::string(one.text());
    return names + " beside the regimen:";
}

std::string comparison_text(const json::Value& comparison) {
    Table table;
    bool agrees = true;
    for (const json::Value& element : comparison.items_at("elements")) {
        const std::string agreement = text_at(element, "agreement");
        agrees = agrees && agreement == "agrees";
        table.row({"    " + spaced(agreement) + ":",
                   spaced(text_at(element, "element")) + ": " + text_at(element, "words")});
    }
    return wrapped(heading_of(comparison), "  ") + table.text() +
           (agrees ? "    Every element that is compared agrees.\n" : "");
}

}  // namespace

std::string orders_text(const json::Value& answer) {
    const HomeClock home(answer);
    std::string text;
    for (const json::Value& clinic : answer.items_at("clinics")) {
        const std::string read = text_at(clinic, "last_read");
        text += text_at(clinic, "clinic") + ": " +
                (read.empty() ? "never read so far" : "as its server listed it at " + home.text(read)) + "\n";
        if (const std::string why = text_at(clinic, "failure"); !why.empty())
            text += wrapped("The newest attempt read nothing: " + why, "  ");
        for (const json::Value& order : clinic.items_at("orders"))
            text += order_text(order, home);
        if (const std::string others = text_at(clinic, "other_orders"); others != "0" && !read.empty())
            text +=
                "  Active orders of medicines that this hub does not know, and keeps nothing of: " + others +
                "\n";
        for (const json::Value& comparison : clinic.items_at("comparisons"))
            text += comparison_text(comparison);
        if (const std::string missing = text_at(clinic, "missing"); !missing.empty())
            text += wrapped(missing + ".", "  ");
        if (flag_at(clinic, "may_be_missing"))
            text += "  Whether any of these is the regimen's order is not sure.\n";
        text += "\n";
    }
    if (!flag_at(answer, "has_regimen"))
        text +=
            "The settings have no [[regimen]] of this person; nightferry orders --propose makes one to "
            "compare.\n";
    return text +
           "Where the two differ, ask the clinic which is meant. Nothing here changes the settings.\n" +
           std::string(footer());
}

std::string proposal_text(const json::Value& answer) {
    return text_at(answer, "proposal");
}

}  // namespace nightferry::report
