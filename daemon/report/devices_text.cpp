#include "daemon/report/devices_text.hpp"

#include "daemon/report/entry_words.hpp"
#include "daemon/report/table.hpp"

namespace nightferry::report {

namespace json = fhir::json;

std::string invitation_text(const json::Value& answer) {
    std::string text = "The code is\n\n    " + text_at(answer, "code") + "\n\ngood until " +
                       time_text(text_at(answer, "good_until")) + ", once. On the phone open\n\n";
    for (const json::Value& address : answer.items_at("addresses"))
        text += "    " + std::string(address.text()) + "/pair\n";
    return text +
           "\nand type it there. Whoever has this code until then lets a phone of their own in: tell it to "
           "nobody\nelse.\n";
}

std::string devices_text(const json::Value& answer) {
    Table table;
    for (const json::Value& one : answer.items_at("devices")) {
        std::string state;
        const std::string unpaired = text_at(one, "unpaired");
        if (!unpaired.empty()) {
            state = "unpaired " + time_text(unpaired);
        } else if (!flag_at(one, "carer_in_settings")) {
            state = "not let in: its carer is not in the settings";
        }
        const std::string last = text_at(one, "last_used");
        table.row({text_at(one, "id"), text_at(one, "name"), text_at(one, "carer"),
                   "paired " + time_text(text_at(one, "paired")),
                   last.empty() ? "never used" : "used last on " + last, state});
    }
    return table.is_empty() ? "No phone was paired.\n" : table.text();
}

}  // namespace nightferry::report
