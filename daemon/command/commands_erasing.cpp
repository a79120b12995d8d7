// The commands with which people follow one entry, and erase one person.
#include <unistd.h>

#include <cstdio>
#include <iostream>

#include "daemon/command/commands.hpp"
#include "daemon/command/query.hpp"
#include "daemon/core/words.hpp"
#include "daemon/intake/api_json.hpp"
#include "daemon/intake/closer.hpp"
#include "daemon/intake/logbook_json.hpp"
#include "daemon/logbook/erasing.hpp"
#include "daemon/logbook/opening.hpp"
#include "daemon/net/system_ports.hpp"
#include "daemon/report/explained_text.hpp"
#include "daemon/report/logbook_text.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/json/writer.hpp"

namespace nightferry::command {

namespace json = fhir::json;

namespace {

void put_traces(json::Value& into, const logbook::Traces& traces) {
    intake::put_count(into, "entries", traces.entries);
    intake::put_count(into, "revisions", traces.revisions);
    intake::put_count(into, "flags", traces.flags);
    intake::put_count(into, "orders", traces.orders);
    json::Value& clinics = into.add_array("clinics");
    for (const logbook::Traces::Clinic& clinic : traces.clinics) {
        json::Value& object = clinics.push_object();
        object.add_string("clinic", clinic.name);
        intake::put_count(object, "confirmed", clinic.confirmed);
        intake::put_count(object, "perhaps", clinic.perhaps);
    }
    json::Value& copies = into.add_array("copies");
    for (const std::filesystem::path& copy : traces.copies)
        copies.push_string(copy.string());
}

}  // namespace

// What was written stands above, so that nobody confirms what was not read.
bool Commands::is_confirmed() const {
    if (options_.yes) return true;
    if (options_.as_json || ::isatty(STDIN_FILENO) == 0) {
        complain(ExitCode::usage, "nothing was erased; say --yes where nobody can be asked");
        return false;
    }
    std::printf("\nThis cannot be undone. Write the key %s to erase all of it: ", options_.person.c_str());
    std::fflush(stdout);
    std::string written;
    std::getline(std::cin, written);
    if (written == options_.person) return true;
    complain(ExitCode::usage, "nothing was erased");
    return false;
}

Result<std::unique_ptr<logbook::Database>> Commands::logbook_alone(Instant now) const {
    const std::filesystem::path file = logbook::file_in(settings_->data);
    std::error_code failure;
    if (!std::filesystem::exists(file, failure)) {
        if (!failure) return Error{Errc::unreachable, "there is no logbook at " + file.string()};
        return Error{Errc::setup, file.string() + " cannot be looked at: " + failure.message() +
                                      "; run this as nightferryd's user, or as root"};
    }
    auto opened = logbook::open(file, now);
    if (opened || opened.error().code != Errc::locked) return opened;
    return Error{Errc::locked,
                 "the logbook is in use; erasing needs it alone: stop nightferryd, run this again, and start "
                 "it afterwards"};
}

int Commands::erase_person() {
    const Instant now = net::SystemClock().now();
    json::Document said;
    said.root().add_string("by", options_.by);
    said.root().add_string("reason", options_.reason);
    const auto closer = intake::read_closer(json::write(said.root()), settings_->household, now);
    if (!closer) return complain(ExitCode::bad_input, closer.error().detail);
    const std::filesystem::path file = logbook::file_in(settings_->data);
    auto opened = logbook_alone(now);
    if (!opened) return complain(exit_code_of(opened.error().code), opened.error().detail);
    const auto traces = logbook::traces_of(**opened, options_.person, file, logbook::system_files());
    if (!traces) return complain(exit_code_of(traces.error().code), traces.error().detail);
    if (!traces->is_anything()) {
        (void)(*opened)->close_cleanly();
        std::string words =
            "the logbook holds nothing of a person with the key " + in_quotes(options_.person);
        for (const std::filesystem::path& copy : traces->copies)
            words += "\n  a file beside it may, and is yours to remove: " + copy.string();
        return complain(ExitCode::unavailable, words);
    }
    json::Document document;
    put_traces(document.root(), *traces);
    if (!options_.as_json) std::fputs(report::traces_text(document.root()).c_str(), stdout);
    if (!is_confirmed()) {
        (void)(*opened)->close_cleanly();
        return as_status(ExitCode::usage);
    }
    const auto erased =
        logbook::erase(std::move(*opened), file, {options_.person, closer->by, closer->reason}, now,
                       logbook::system_files());
    if (!erased) return complain(exit_code_of(erased.error().code), erased.error().detail);
    intake::put_checkup(document.root().add_object("looked_through"), erased->after);
    const std::string inbox = settings_->inbox.string();
    print({200, {}, json::write(document.root()) + "\n"},
          [&](const json::Value& gone) { return report::erased_text(gone, inbox); });
    return as_status(ExitCode::ok);
}

int Commands::explain() {
    const auto answer = channel_.get("/v1/entries/" + percent_encode(options_.id));
    if (!answer) return not_there(answer.error());
    const auto entry = json::read(answer->body);
    if (answer->status != 200 || !entry) return finish(*answer, report::explained_text);
    const std::string id(entry->root().string_at("id"));
    json::Document told;
    told.root().add_copy("entry", entry->root());
    json::Value& rows = told.root().add_array("rows");
    std::string after = "0";
    for (bool more = true; more;) {
        const auto page =
            channel_.get("/v1/audit" + query_of({{"limit", "5000"}, {"after", after}, {"entry", id}}));
        if (!page) return not_there(page.error());
        const auto document = json::read(page->body);
        if (page->status != 200 || !document) return finish(*page, report::explained_text);
        more = false;
        for (const json::Value& row : document->root().items_at("rows")) {
            more = true;
            after = std::string(row.find("number")->text());
            rows.push_copy(row);
        }
    }
    print({200, {}, json::write(told.root()) + "\n"}, report::explained_text);
    return as_status(ExitCode::ok);
}

}  // namespace nightferry::command
