// The commands about what leaves the home.
#include <charconv>
#include <deque>

#include "daemon/command/commands.hpp"
#include "daemon/command/query.hpp"
#include "daemon/logbook/audit.hpp"
#include "daemon/report/sharing_text.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/json/writer.hpp"

namespace nightferry::command {

namespace json = fhir::json;

namespace {

constexpr std::int64_t rows_per_page = 5000;

std::int64_t whole_number(const json::Value& row, std::string_view name) {
    const json::Value* value = row.find(name);
    const std::string_view text = value == nullptr ? std::string_view() : value->text();
    std::int64_t number = 0;
    std::from_chars(text.data(), text.data() + text.size(), number);
    return number;
}

logbook::AuditRow row_from(const json::Value& row) {
    return {
        whole_number(row, "number"),          Instant{std::chrono::microseconds{whole_number(row, "at_us")}},
        std::string(row.string_at("event")),  std::string(row.string_at("clinic")),
        std::string(row.string_at("entry")),  whole_number(row, "revision"),
        std::string(row.string_at("detail")), std::string(row.string_at("hash"))};
}

}  // namespace

int Commands::share() {
    return get("/v1/sharing" + query_of({{"clinic", options_.clinic},
                                         {"person", options_.person},
                                         {"back_to", options_.to},
                                         {"limit", std::to_string(options_.limit)},
                                         {"fhir", options_.as_json ? "yes" : ""}}),
               report::sharing_text);
}

int Commands::back_date() {
    return post("/v1/sharing/back-date" +
                    query_of({{"clinic", options_.clinic}, {"to", options_.to}, {"by", options_.by}}),
                [](const json::Value& answer) {
                    return "owed as well: " + std::string(answer.find("owed")->text()) +
                           "; it goes out with the next pass\n";
                });
}

int Commands::withdrawn() {
    return get("/v1/sharing/withdrawn" +
                   query_of({{"clinic", options_.clinic}, {"limit", std::to_string(options_.limit)}}),
               report::withdrawn_text);
}

bool Commands::is_wanted(const json::Value& row) const {
    return (options_.clinic.empty() || row.string_at("clinic") == options_.clinic) &&
           (options_.id.empty() || row.string_at("entry") == options_.id);
}

// The chain is followed here, page by page: the daemon that wrote it need not be believed, nor kept busy.
int Commands::audit() {
    logbook::ChainCheck check;
    std::optional<std::string> broken;
    std::deque<std::string> shown;
    for (bool more = true; more && !broken;) {
        const auto answer = channel_.get("/v1/audit" + query_of({{"limit", std::to_string(rows_per_page)},
                                                                 {"after", std::to_string(check.rows())}}));
        if (!answer) return not_there(answer.error());
        const auto page = json::read(answer->body);
        if (answer->status != 200 || !page) return finish(*answer, report::audit_text);
        more = !page->root().items_at("rows").empty();
        for (const json::Value& row : page->root().items_at("rows")) {
            if (is_wanted(row)) shown.push_back(json::write(row));
            if (std::ssize(shown) > options_.limit) shown.pop_front();
            broken = check.next(row_from(row));
            if (broken) break;
        }
    }
    json::Document trail;
    json::Value& rows = trail.root().add_array("rows");
    for (const std::string& text : shown) {
        if (const auto row = json::read(text)) rows.push_copy(row->root());
    }
    trail.root().add_number("checked", std::to_string(check.rows()));
    trail.root().add_string("newest", check.newest());
    if (broken) trail.root().add_string("broken", *broken);
    print({200, {}, json::write(trail.root()) + "\n"}, report::audit_text);
    return as_status(broken ? ExitCode::bad_input : ExitCode::ok);
}

}  // namespace nightferry::command
