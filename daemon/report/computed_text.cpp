#include "daemon/report/home_clock.hpp"
#include "daemon/report/review_text.hpp"
#include "daemon/report/table.hpp"

namespace nightferry::report {

namespace json = fhir::json;

namespace {

// "settled 2026-10-19 09:00 by marlow: Rang the clinic"
std::string event_text(const json::Value& event, const HomeClock& home) {
    std::string text = text_at(event, "event") + " " + home.text(text_at(event, "at"));
    if (const std::string by = text_at(event, "by"); !by.empty()) text += " by " + by;
    if (const std::string words = text_at(event, "words"); !words.empty()) text += ": " + words;
    return text;
}

std::string window_text(const json::Value& window) {
    const bool inside = flag_at(window, "inside");
    const std::string by = text_at(window, "outside_by_min");
    const std::string where = inside                ? "Inside the clinic's window of "
                              : by.starts_with('-') ? "Too early for the clinic's window of "
                                                    : "Too late for the clinic's window of ";
    std::string text =
        where + text_at(window, "from_min") + " to " + text_at(window, "to_min") + " min after a dose";
    if (!inside) text += ", by " + span_size_text(by);
    text += ".\n";
    if (const json::Value* certain = window.find("certain_inside"))
        text += std::string("By the dose before it, ") + (certain->boolean() ? "inside" : "outside") +
                " that window.\n";
    return text;
}

}  // namespace

std::string_view footer() {
    return "Computed from what was written down here; nobody watches it as it happens. What to do about it "
           "is for\n"
           "your clinic to say. In an emergency call your local emergency number.\n";
}

std::string flags_text(const json::Value& flags) {
    const HomeClock home(flags);
    std::string text;
    for (const json::Value& flag : flags.items_at("flags")) {
        const std::string state = text_at(flag, "state");
        text += wrapped(text_at(flag, "level") + ": " + text_at(flag, "reason") +
                            (state.empty() || state == "open" ? "" : " [" + state + "]"),
                        "");
        if (const std::string words = text_at(flag, "text"); !words.empty()) text += wrapped(words, "    ");
        for (const json::Value& event : flag.items_at("history"))
            text += wrapped(event_text(event, home), "    ");
        text += "    key: " + text_at(flag, "key") + "\n";
    }
    if (text.empty()) text = "No flags are open. That does not say that nothing happened.\n";
    if (const json::Value* regimen = flags.find("has_regimen"); regimen != nullptr && !regimen->boolean())
        text += "The settings have no [[regimen]] of this person, so nothing else is looked at.\n";
    return text + "\n" + std::string(footer());
}

std::string since_dose_text(const json::Value& since) {
    const HomeClock home(since);
    std::string text;
    if (since.find("dose") == nullptr) {
        text = "No dose is recorded before " + home.text(text_at(since, "at")) + ".\n";
    } else {
        text = span_size_text(text_at(since, "elapsed_min")) + " since the last recorded dose, given " +
               home.text(text_at(since, "given")) + ".\n";
    }
    if (flag_at(since, "provisional")) {
        text += "That dose is provisional: it may have been written down twice. Since the dose before it: " +
                span_size_text(text_at(since, "certain_elapsed_min")) + ".\n";
    }
    const json::Value* window = since.find("window");
    if (window != nullptr && window->find("inside") != nullptr) text += window_text(*window);
    if (!flag_at(since, "settled")) {
        text +=
            "Something in the 24 hours before is unresolved, so this time may not be true; see nightferry "
            "flags and "
            "report.\n";
    }
    return text + "\n" + std::string(footer());
}

}  // namespace nightferry::report
