#include "daemon/report/tables.hpp"

#include <algorithm>
#include <vector>

#include "daemon/core/words.hpp"
#include "daemon/report/entry_words.hpp"
#include "daemon/report/table.hpp"

namespace nightferry::report {

namespace json = fhir::json;

namespace {

std::string entries_counted(long count) {
    return counted(static_cast<std::size_t>(count), "entry", "entries");
}

std::string state_words(const std::string& state) {
    if (state == "confirmed") return "has it";
    if (state == "set_aside") return "set aside";
    if (state == "under_way") return "under way";
    if (state == "closed") return "settled by a person";
    if (state == "withdrawn") return "not shared any more";
    return "waiting";
}

std::string deliveries_of(const json::Value& entry) {
    const json::Value* deliveries = entry.find("deliveries");
    if (deliveries == nullptr || deliveries->size() == 0) return "for no clinic";
    std::string text;
    for (const json::Value& delivery : *deliveries) {
        if (!text.empty()) text += ", ";
        text += text_at(delivery, "clinic") + ": " + state_words(text_at(delivery, "state"));
    }
    return text;
}

std::string pass_words(const json::Value& pass) {
    if (flag_at(pass, "running") && pass.find("failures") == nullptr) return "A pass is running now.";
    if (pass.find("failures") != nullptr) {
        return "The last attempt failed (" + text_at(pass, "words") + "); the next one is at " +
               time_text(text_at(pass, "next_attempt")) + ". Everything is kept until it gets through.";
    }
    const std::string words = text_at(pass, "words");
    if (pass.find("ended") == nullptr && pass.find("started") != nullptr) {
        return "A pass was broken off; it goes on when the daemon runs.";
    }
    if (pass.find("ended") == nullptr) return "No pass has run yet.";
    std::string text = "The last pass ended at " + time_text(text_at(pass, "ended"));
    return text + (words.empty() ? "." : ": " + words + ".");
}

}  // namespace

std::string answers_text(const json::Value& answers) {
    std::string text;
    if (const std::string error = text_at(answers, "error"); !error.empty())
        return "Nothing was recorded: " + error + "\n";
    text += "accepted " + text_at(answers, "accepted") + ", already there " +
            text_at(answers, "already_there") + ", conflicts " + text_at(answers, "conflict") + ", refused " +
            text_at(answers, "refused") + "\n";
    const json::Value* list = answers.find("answers");
    if (list == nullptr) return text;
    for (const json::Value& answer : *list) {
        if (flag_at(answer, "retracted"))
            text += "  already there, " + text_at(answer, "where") + ": but retracted since\n";
        if (answer.find("in_effect") != nullptr) {
            text += "  accepted, " + text_at(answer, "where") +
                    ": kept, but a revision recorded later stays in effect\n";
        }
        const json::Value* problems = answer.find("problems");
        if (problems == nullptr) continue;
        for (const json::Value& problem : *problems) {
            text += "  " + spaced(text_at(answer, "answer")) + ", " + text_at(problem, "where") + ": " +
                    text_at(problem, "what") + "\n";
        }
    }
    return text;
}

namespace {

// What was written at the command line went in as the one row of a table; people know its fields only.
std::string field_of(const std::string& where) {
    constexpr std::string_view before = ", column ";
    const auto at = where.find(before);
    return at == std::string::npos ? std::string() : where.substr(at + before.size()) + ": ";
}

}  // namespace

std::string recorded_text(const json::Value& answers) {
    const json::Value* list = answers.find("answers");
    if (list == nullptr || list->size() != 1) return answers_text(answers);
    const std::string answer = text_at(list->front(), "answer");
    if (answer == "already_there") {
        return "It was recorded already, with the id " + text_at(list->front(), "id") + ".\n" +
               (flag_at(list->front(), "retracted") ? "But it was retracted since.\n" : "");
    }
    if (answer != "accepted") {
        std::string text = "Nothing was recorded:\n";
        for (const json::Value& problem : list->front().items_at("problems"))
            text += wrapped(field_of(text_at(problem, "where")) + text_at(problem, "what") + ".", "  ");
        return text;
    }
    return "Recorded, with the id " + text_at(list->front(), "id") +
           ". It goes out with the next pass to each clinic that is to have it.\n" +
           (list->front().find("in_effect") == nullptr ? "" : "A revision recorded later stays in effect.\n");
}

std::string entries_text(const json::Value& answer) {
    const json::Value* entries = answer.find("entries");
    std::string unreadable;
    if (const json::Value* ids = answer.find("unreadable")) {
        for (const json::Value& id : *ids)
            unreadable += "UNREADABLE " + std::string(id.text()) + ": restore a backup of the logbook\n";
    }
    if (entries == nullptr || entries->size() == 0) return unreadable.empty() ? "No entries.\n" : unreadable;
    Table table;
    for (const json::Value& entry : *entries) {
        std::vector<std::string> cells = entry_cells(entry);
        cells.push_back(deliveries_of(entry));
        cells.push_back("id " + text_at(entry, "id"));
        table.row(std::move(cells));
    }
    return table.text() + unreadable;
}

std::string entry_text(const json::Value& entry) {
    Table head;
    head.row(entry_cells(entry));
    std::string text = head.text() + "id " + text_at(entry, "id") + "\n";
    if (const std::string note = text_at(entry, "note"); !note.empty()) text += "note: " + note + "\n";
    Table table;
    if (const json::Value* revisions = entry.find("revisions")) {
        for (const json::Value& revision : *revisions) {
            const json::Value* content = revision.find("entry");
            const bool bare = content == nullptr || content->find("type") == nullptr;
            table.row({"  revision " + text_at(revision, "revision"), text_at(*content, "action"),
                       bare ? text_at(*content, "reason") : what_text(*content),
                       "recorded " + by_words(text_at(*content, "recorded_by")),
                       "accepted " + time_text(text_at(revision, "accepted"))});
        }
    }
    if (const json::Value* deliveries = entry.find("deliveries")) {
        for (const json::Value& delivery : *deliveries) {
            table.row({"  clinic " + text_at(delivery, "clinic"), state_words(text_at(delivery, "state")),
                       "attempts " + text_at(delivery, "attempts"), text_at(delivery, "words")});
            if (const json::Value* closings = delivery.find("closings")) {
                for (const json::Value& closing : *closings) {
                    table.row({"    settled", "revision " + text_at(closing, "revision"),
                               "by " + text_at(closing, "by") + ", " + time_text(text_at(closing, "closed")),
                               text_at(closing, "reason")});
                }
            }
            const json::Value* receipts = delivery.find("receipts");
            if (receipts == nullptr) continue;
            for (const json::Value& receipt : *receipts) {
                table.row({"    receipt", "revision " + text_at(receipt, "revision"),
                           text_at(receipt, "resource"), time_text(text_at(receipt, "received"))});
            }
        }
    }
    return text + table.text();
}

std::string queue_text(const json::Value& queue) {
    const json::Value* clinics = queue.find("clinics");
    if (clinics == nullptr || clinics->size() == 0) return "No clinic is set up; entries are kept here.\n";
    std::string text;
    for (const json::Value& clinic : *clinics) {
        const long waiting = number_at(clinic, "waiting");
        const long set_aside = number_at(clinic, "set_aside");
        const long confirmed = number_at(clinic, "confirmed");
        const long closed = number_at(clinic, "closed");
        const long withdrawn = number_at(clinic, "withdrawn");
        text += "Clinic " + text_at(clinic, "clinic") + ": ";
        if (waiting == 0 && set_aside == 0 && closed == 0) {
            text += "it has everything that " + std::string(withdrawn == 0 ? "was recorded" : "is shared") +
                    " (" + entries_counted(confirmed) + ").\n";
        } else {
            text += "it has " + entries_counted(confirmed) + "; " + std::to_string(waiting) + " waiting, " +
                    std::to_string(set_aside) + " set aside" +
                    (closed > 0 ? ", " + std::to_string(closed) + " settled by a person.\n" : ".\n");
        }
        if (waiting > 0)
            text += "  The oldest waits since " + time_text(text_at(clinic, "oldest_waiting")) + ".\n";
        if (withdrawn > 0)
            text += "  Not sent, because not shared any more: " + entries_counted(withdrawn) + ".\n";
        if (set_aside > 0) text += "  What is set aside needs a person: see 'nightferry set-aside'.\n";
        if (const json::Value* pass = clinic.find("pass")) text += "  " + pass_words(*pass) + "\n";
        for (const json::Value& remark : clinic.items_at("remarks"))
            text += "  To be looked after: " + std::string(remark.text()) + ".\n";
    }
    return text;
}

std::string deliveries_text(const json::Value& answer, bool set_aside) {
    const json::Value* entries = answer.find("entries");
    if (entries == nullptr || entries->size() == 0)
        return set_aside ? "Nothing is set aside.\n" : "Nothing is waiting.\n";
    std::string text;
    for (const json::Value& entry : *entries) {
        Table line;
        line.row(entry_cells(entry));
        text += line.text();
        text += "  id " + text_at(entry, "id") + "\n";
        const json::Value* deliveries = entry.find("deliveries");
        for (const json::Value& delivery : *deliveries) {
            text += "  " + text_at(delivery, "clinic") + ": " + state_words(text_at(delivery, "state"));
            if (const std::string words = text_at(delivery, "words"); !words.empty()) text += ", " + words;
            text += "\n";
        }
    }
    if (set_aside) {
        text +=
            "\nCorrect the entry: nightferry amend ID. Send it again when the clinic can take it: nightferry "
            "release ID.\nClose it when it is settled with the clinic in another way: nightferry settle ID "
            "--clinic NAME --by CARER --reason TEXT\n";
    }
    return text;
}

}  // namespace nightferry::report
