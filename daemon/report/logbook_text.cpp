#include "daemon/report/logbook_text.hpp"

#include "daemon/core/words.hpp"
#include "daemon/report/entry_words.hpp"
#include "daemon/report/table.hpp"

namespace nightferry::report {

namespace json = fhir::json;

namespace {

std::string counted_at(const json::Value& object, std::string_view name, std::string_view one,
                       std::string_view many) {
    return counted(static_cast<std::size_t>(number_at(object, name)), one, many);
}

std::string at_clinics(const json::Value& traces) {
    std::string text;
    for (const json::Value& clinic : traces.items_at("clinics")) {
        const long has = number_at(clinic, "confirmed");
        const long perhaps = number_at(clinic, "perhaps");
        if (has + perhaps == 0) continue;
        std::string words = "The clinic " + text_at(clinic, "clinic") + " has " +
                            counted(static_cast<std::size_t>(has), "of these entries", "of these entries");
        if (perhaps > 0) words += ", and perhaps " + std::to_string(perhaps) + " more";
        text += wrapped(words + ".", "  ");
    }
    if (text.empty()) return "No clinic has any of it.\n";
    return text + wrapped(
                      "Whether it is erased there is the clinic's decision; after this, the hub cannot "
                      "tell which resources they are. 'nightferry export --fhir' beforehand keeps what "
                      "to ask for.",
                      "  ");
}

}  // namespace

std::string traces_text(const json::Value& traces) {
    std::string text = "To be erased for good: " + counted_at(traces, "entries", "entry", "entries") +
                       " in " + counted_at(traces, "revisions", "revision", "revisions") + ", " +
                       counted_at(traces, "flags", "event", "events") + " of flags, " +
                       counted_at(traces, "orders", "record", "records") +
                       " of what clinics ordered and whom they mean, with all deliveries and receipts.\n" +
                       at_clinics(traces);
    for (const json::Value& copy : traces.items_at("copies"))
        text += "Removed with it, as it may hold the same: " + std::string(copy.text()) + "\n";
    return text;
}

std::string erased_text(const json::Value& traces, const std::string& inbox) {
    const json::Value* after = traces.find("looked_through");
    const std::string rows = after == nullptr ? "" : text_at(*after, "audit_rows");
    const std::string hash = after == nullptr ? "" : text_at(*after, "audit_hash");
    return "Erased: " + counted_at(traces, "entries", "entry", "entries") +
           ". The logbook was written anew.\n"
           "Looked through afterwards: no row of the person, no copy beside it, and the logbook is sound.\n"
           "Row " +
           rows + " of the audit trail tells of it; keep its hash as the proof:\n  " + hash + "\n" +
           wrapped("Still there, for you to remove: files that were handed in (" + inbox +
                       ", with its folders done and refused), backups and exports made elsewhere, and the "
                       "person in the settings. What is handed in again is recorded again.",
                   "") +
           wrapped(
               "The audit trail keeps the ids of the entries and that they were erased, and says no word "
               "of what they held.",
               "");
}

std::string checkup_text(const json::Value& checkup) {
    std::string text = counted_at(checkup, "entries", "entry", "entries") + " in " +
                       counted_at(checkup, "revisions", "revision", "revisions") + ", " +
                       counted_at(checkup, "deliveries", "delivery", "deliveries") + ", " +
                       counted_at(checkup, "receipts", "receipt", "receipts") + " of clinics, " +
                       counted_at(checkup, "audit_rows", "row", "rows") +
                       " of the audit trail; tables of version " + text_at(checkup, "version") + ".\n";
    if (const std::string newest = text_at(checkup, "newest"); !newest.empty())
        text += "The newest was recorded " + time_text(newest) + ".\n";
    if (const std::string hash = text_at(checkup, "audit_hash"); !hash.empty())
        text += "The audit trail ends with the hash\n  " + hash + "\n";
    const json::Value* faults = checkup.find("faults");
    if (faults == nullptr || faults->size() == 0)
        return text +
               "It is sound: every page, every entry, every count and the audit trail were looked at.\n";
    text += "It is NOT sound:\n";
    for (const json::Value& fault : *faults)
        text += wrapped(std::string(fault.text()) + ".", "  ");
    return text + "backup.md says how to go back to a backup.\n";
}

std::string restored_text(const std::string& aside, const std::string& identifier_system) {
    std::string text = "It is the logbook now.\n";
    if (!aside.empty())
        text += wrapped("The one that was there lies at " + aside +
                            " and is not used any more. It holds health data: remove it when it is needed no "
                            "longer.",
                        "");
    text += wrapped(
        "What was recorded after the newest entry named above is not in it. Hand it in again: whatever a "
        "clinic has of it already is recognised there. Files that were handed in lie in the inbox's folder "
        "done.",
        "");
    text += wrapped(
        "Before anything is sent that may have been sent since the backup was made, the clinic is asked "
        "whether it has it. If somebody amended an entry since, the clinic has a revision that this logbook "
        "does not know; as soon as it would be replaced it is set aside for you instead.",
        "");
    text += wrapped(
        "Phones that were paired with the page are not let in any more: one of them may have been unpaired "
        "since. Pair those again that are to go on (nightferry pair).",
        "");
    return text + wrapped(
                      "What a clinic has and this logbook knows nothing of, only the clinic can list: it "
                      "bears identifiers of the system " +
                          identifier_system + ".",
                      "");
}

}  // namespace nightferry::report
