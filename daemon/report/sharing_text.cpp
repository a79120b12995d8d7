#include "daemon/report/sharing_text.hpp"

#include "daemon/core/words.hpp"
#include "daemon/report/entry_words.hpp"
#include "daemon/report/table.hpp"

namespace nightferry::report {

namespace json = fhir::json;

namespace {

std::string entries_counted(std::size_t count) {
    return counted(count, "entry", "entries");
}

std::string listed(const json::Value& object, std::string_view name) {
    std::string text;
    for (const json::Value& item : object.items_at(name))
        text += (text.empty() ? "" : ", ") + std::string(item.text());
    return text;
}

std::string policy_text(const json::Value& clinic) {
    const json::Value* policy = clinic.find("policy");
    if (policy == nullptr) return "  Nothing says yet what it may have; the daemon does when it starts.\n";
    std::string words = "It may have " + listed(*policy, "kinds") + " of " + listed(*policy, "persons");
    if (const std::string from = text_at(*policy, "from"); !from.empty())
        words += " from " + from.substr(0, 10) + " on";
    words += flag_at(*policy, "notes") ? ", with what people wrote in their own words"
                                       : ", without what people wrote in their own words";
    words += ". In force since " + time_text(text_at(*policy, "since"));
    if (const std::string back = text_at(*policy, "back_to"); !back.empty())
        words += ", and back to " + back.substr(0, 10);
    return wrapped(words + ".", "  ");
}

std::string leaving_text(const json::Value& entry) {
    Table line;
    line.row(entry_cells(entry));
    std::string text = "  " + line.text();
    std::string how = "as " + text_at(entry, "resource");
    if (const std::string replaced = text_at(entry, "replaces"); !replaced.empty())
        how += ", in place of " + replaced;
    if (flag_at(entry, "only_taken_back"))
        how += "; not shared any more, so only that it was recorded in error is told";
    if (flag_at(entry, "back_dated")) how += "; only after back-dating";
    if (const std::string why = text_at(entry, "cannot_be_sent"); !why.empty())
        how = "cannot be sent: " + why;
    text += wrapped(how, "      ");
    for (const json::Value& one : entry.items_at("free_texts"))
        text += wrapped("with its " + spaced(text_at(one, "field")) + ": \"" + text_at(one, "text") + "\"",
                        "      ");
    if (const std::string left = listed(entry, "left_out"); !left.empty())
        text += "      stays here: " + spaced(left) + "\n";
    return text;
}

}  // namespace

std::string sharing_text(const json::Value& answer) {
    const json::Value* clinics = answer.find("clinics");
    if (clinics == nullptr || clinics->size() == 0) return "No clinic is set up; nothing leaves this home.\n";
    std::string text;
    for (const json::Value& clinic : *clinics) {
        const json::Value* entries = clinic.find("entries");
        const std::size_t shown = entries == nullptr ? 0 : entries->size();
        text += "Clinic " + text_at(clinic, "clinic") + ": " +
                (shown == 0 ? "nothing would leave" : entries_counted(shown) + " would leave") +
                " with the next pass.\n" + policy_text(clinic);
        for (const json::Value& entry : clinic.items_at("entries"))
            text += leaving_text(entry);
        const long all = number_at(clinic, "waiting") + number_at(clinic, "back_dated");
        if (all > static_cast<long>(shown))
            text += "  In all " + entries_counted(static_cast<std::size_t>(all)) +
                    " wait or would; --limit shows more, and what is not shared stays.\n";
    }
    return text;
}

std::string withdrawn_text(const json::Value& answer) {
    std::string text;
    for (const json::Value& clinic : answer.items_at("clinics")) {
        const json::Value* entries = clinic.find("entries");
        if (entries == nullptr || entries->size() == 0) continue;
        text += "Clinic " + text_at(clinic, "clinic") + " has " + entries_counted(entries->size()) +
                (flag_at(clinic, "in_settings") ? " that it is not to have any more.\n"
                                                : "; it is in the settings no longer.\n");
        for (const json::Value& entry : *entries) {
            Table line;
            line.row(entry_cells(entry));
            text += "  " + line.text() + wrapped(text_at(entry, "withheld_because"), "      ");
            for (const json::Value& delivery : entry.items_at("deliveries")) {
                const json::Value* receipts = delivery.find("receipts");
                if (receipts == nullptr) text += "      sent, but never confirmed; it may be there\n";
                for (const json::Value& receipt : delivery.items_at("receipts")) {
                    text += "      " + text_at(receipt, "resource") + ", revision " +
                            text_at(receipt, "revision") + ", confirmed " +
                            time_text(text_at(receipt, "received")) + "\n";
                }
            }
        }
    }
    if (text.empty()) return "No clinic has anything that it is not to have any more.\n";
    return text +
           "\nThe clinic's IT finds the resources by these references; ask them to remove what is to go.\n";
}

std::string audit_text(const json::Value& trail) {
    Table table;
    for (const json::Value& row : trail.items_at("rows")) {
        const std::string revision = text_at(row, "revision");
        table.row({text_at(row, "number"), time_text(text_at(row, "at")), spaced(text_at(row, "event")),
                   text_at(row, "clinic"), text_at(row, "entry"),
                   revision == "0" ? "" : "revision " + revision, text_at(row, "detail")});
    }
    std::string text = table.text();
    if (const std::string broken = text_at(trail, "broken"); !broken.empty())
        return text + "The chain is BROKEN: " + broken +
               ".\nEverything before that row is as it was written.\n";
    const std::string rows = text_at(trail, "checked");
    if (rows == "0") return text + "The trail is empty.\n";
    return text + "The chain holds: " + rows +
           " rows, none changed or missing between. The newest bears the hash\n  " +
           text_at(trail, "newest") +
           "\nKept elsewhere, this shows later whether rows were cut off at the end.\n";
}

}  // namespace nightferry::report
