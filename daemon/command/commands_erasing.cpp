// The commands with which people follow one entry, and erase one person.
#include <unistd.h>

#include <cstdio>
#include <iostream>

#include "daemon/command/commands.hpp"
#include "daemon/command/query.hpp"
#include "daemon/core/words.hpp"
#include "daemon/report/explained_text.hpp"
#include "daemon/report/logbook_text.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/json/writer.hpp"

namespace nightferry::command {

namespace json = fhir::json;

// What was written stands above, so that nobody confirms what was not read.
bool Commands::is_confirmed() const {
    if (options_.yes) return true;
    if (::isatty(STDIN_FILENO) == 0) {
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

int Commands::erase_person() {
    const std::string query = query_of({{"person", options_.person}});
    const auto traces = channel_.get("/v1/logbook/person" + query);
    if (!traces) return not_there(traces.error());
    const auto found = json::read(traces->body);
    if (traces->status != 200 || !found) return finish(*traces, report::traces_text);
    if (!options_.as_json) std::fputs(report::traces_text(found->root()).c_str(), stdout);
    if (!is_confirmed()) return as_status(ExitCode::usage);
    json::Document closer;
    closer.root().add_string("by", options_.by);
    closer.root().add_string("reason", options_.reason);
    const auto answer = channel_.either({"POST",
                                         "/v1/logbook/erase" + query,
                                         {{"Content-Type", "application/json"}},
                                         json::write(closer.root())});
    if (!answer) return not_there(answer.error());
    const std::string inbox = settings_.inbox.string();
    return finish(*answer, [&](const json::Value& erased) { return report::erased_text(erased, inbox); });
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
