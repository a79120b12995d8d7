#include "daemon/report/explained_text.hpp"

#include "daemon/report/entry_words.hpp"
#include "daemon/report/table.hpp"

namespace nightferry::report {

namespace json = fhir::json;

namespace {

std::string revision_words(const json::Value& revision) {
    const json::Value* content = revision.find("entry");
    if (content == nullptr) return "";
    const std::string action = text_at(*content, "action");
    std::string words = "Revision " + text_at(revision, "revision") + ": " +
                        (action == "record"  ? "recorded"
                         : action == "amend" ? "amended"
                                             : "marked as recorded in error") +
                        " " + by_words(text_at(*content, "recorded_by")) + ", on disk " +
                        time_text(text_at(revision, "accepted"));
    if (content->find("type") != nullptr) words += ": " + what_text(*content);
    if (const std::string reason = text_at(*content, "reason"); !reason.empty()) words += "; why: " + reason;
    return words + ".";
}

// How it stands with one clinic.
std::string delivery_words(const json::Value& delivery) {
    const std::string state = text_at(delivery, "state");
    const std::string revision = "Revision " + text_at(delivery, "revision");
    const std::string words = text_at(delivery, "words");
    const std::string said = words.empty() ? std::string() : " What was said last: " + words + ".";
    if (state == "confirmed") return "The clinic has revision " + text_at(delivery, "revision") + ".";
    if (state == "set_aside") return revision + " was set aside and waits for somebody to look." + said;
    if (state == "closed")
        return revision +
               " was settled with the clinic by a person; it is not sent. Only an amendment or retraction "
               "opens it "
               "again.";
    if (state == "withdrawn")
        return revision + " is not sent, because it is not shared with this clinic any more.";
    if (state == "under_way") return revision + " is being sent now.";
    if (text_at(delivery, "attempts") == "0") return revision + " waits and was never tried.";
    return revision +
           " waits; attempts so far, at this revision or an earlier one: " + text_at(delivery, "attempts") +
           "." + said;
}

// What a person can do about what was set aside, to be copied to the command line. What the hub counts itself
// nobody can amend.
std::string ways_out(const json::Value& delivery, const std::string& id, bool is_made_by_hub) {
    if (text_at(delivery, "state") != "set_aside") return "";
    const std::string clinic = " --clinic " + text_at(delivery, "clinic");
    const std::string amending =
        "  What it says is wrong:\n    nightferry amend " + id + " FIELD=VALUE --by CARER\n";
    return (is_made_by_hub ? "" : amending) +
           "  Nothing is wrong with it, or not any more:\n    nightferry release " + id + clinic +
           "\n  It is settled with the clinic, and is not to be sent:\n    nightferry settle " + id + clinic +
           " --by CARER --reason WHY\n";
}

std::string delivery_text(const json::Value& delivery, const std::string& id, bool is_made_by_hub) {
    std::string text = "Clinic " + text_at(delivery, "clinic") + "\n" +
                       wrapped(delivery_words(delivery), "  ") + ways_out(delivery, id, is_made_by_hub);
    for (const json::Value& receipt : delivery.items_at("receipts")) {
        std::string words =
            "Its receipt for revision " + text_at(receipt, "revision") + ": " + text_at(receipt, "resource");
        if (const std::string version = text_at(receipt, "version"); !version.empty())
            words += ", version " + version;
        text += wrapped(words + ", " + time_text(text_at(receipt, "received")) + ".", "  ");
    }
    for (const json::Value& closing : delivery.items_at("closings")) {
        text += wrapped("Revision " + text_at(closing, "revision") + " was settled by " +
                            text_at(closing, "by") + ", " + time_text(text_at(closing, "closed")) + ": " +
                            text_at(closing, "reason") + ".",
                        "  ");
    }
    return text;
}

}  // namespace

std::string explained_text(const json::Value& told) {
    const json::Value* entry = told.find("entry");
    if (entry == nullptr) return "";
    const std::string id = text_at(*entry, "id");
    Table head;
    head.row(entry_cells(*entry));
    std::string text =
        head.text() + "id " + id + "; in effect is revision " + text_at(*entry, "revision") + ".\n";
    for (const json::Value& revision : entry->items_at("revisions"))
        text += wrapped(revision_words(revision), "  ");
    const json::Value* deliveries = entry->find("deliveries");
    if (deliveries == nullptr || deliveries->size() == 0) text += "It goes to no clinic.\n";
    for (const json::Value& delivery : entry->items_at("deliveries"))
        text += delivery_text(delivery, id, text_at(*entry, "type") == "summary");
    Table rows;
    for (const json::Value& row : told.items_at("rows")) {
        rows.row({"  " + time_text(text_at(row, "at")), spaced(text_at(row, "event")), text_at(row, "clinic"),
                  "revision " + text_at(row, "revision"), text_at(row, "detail")});
    }
    if (rows.is_empty()) return text + "The audit trail began after it.\n";
    return text + "In the audit trail\n" + rows.text();
}

}  // namespace nightferry::report
