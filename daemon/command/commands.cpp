#include "daemon/command/commands.hpp"

#include <unistd.h>

#include <cstdio>
#include <cstdlib>

#include "config/load_settings.hpp"
#include "daemon/report/emphasis.hpp"
#include "daemon/report/tables.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/json/writer.hpp"

namespace nightferry::command {

namespace json = fhir::json;

namespace {

std::string problems_as_json(const std::vector<config::Problem>& problems) {
    json::Document document;
    document.root().add_boolean("good", problems.empty());
    json::Value& list = document.root().add_array("problems");
    for (const config::Problem& problem : problems) {
        json::Value& object = list.push_object();
        if (problem.line > 0) object.add_number("line", std::to_string(problem.line));
        if (!problem.key.empty()) object.add_string("key", problem.key);
        object.add_string("what", problem.what);
    }
    return json::write(document.root());
}

// As https://no-color.org/ has it.
bool is_emphasis_wanted() {
    const char* terminal = std::getenv("TERM");
    const char* unwanted = std::getenv("NO_COLOR");
    return ::isatty(STDOUT_FILENO) == 1 && terminal != nullptr && std::string_view(terminal) != "dumb" &&
           (unwanted == nullptr || *unwanted == '\0');
}

int refused(const HttpAnswer& answer, ExitCode when_refused = ExitCode::usage) {
    const auto document = json::read(answer.body);
    const std::string words(document ? document->root().string_at("error") : std::string_view(answer.body));
    const bool missing = answer.status == 404 || answer.status == 409;
    // Called off, as the daemon is told to end.
    if (answer.status == 503) return complain(ExitCode::locked, words);
    return complain(answer.status >= 500 ? ExitCode::io
                    : missing            ? ExitCode::unavailable
                                         : when_refused,
                    words);
}

}  // namespace

int complain(ExitCode code, const std::string& words) {
    std::fprintf(stderr, "nightferry: %s\n", words.c_str());
    return as_status(code);
}

int complain_of_new_file(const Error& error) {
    return complain(error.code == Errc::setup ? ExitCode::no_new_file : exit_code_of(error.code),
                    error.detail);
}

int check_settings(const std::string& file, bool as_json) {
    const config::Loaded loaded = config::load_settings(file);
    if (as_json) {
        std::printf("%s\n", problems_as_json(loaded.problems).c_str());
        return as_status(loaded.settings ? ExitCode::ok : ExitCode::settings);
    }
    for (const config::Problem& problem : loaded.problems) {
        std::fprintf(stderr, "%s\n", config::to_line(file, problem).c_str());
    }
    if (!loaded.settings) return as_status(ExitCode::settings);
    std::printf(
        "%s: the settings are good. Whether keys and certificates can be read: nightferryd --check, as the "
        "daemon's user. Whether the clinic lets this hub in: nightferry check-clinic\n",
        file.c_str());
    return as_status(ExitCode::ok);
}

int Commands::list() {
    std::string query = "?limit=" + std::to_string(options_.limit);
    for (const auto& [name, value] :
         {std::pair{"person", options_.person}, {"from", options_.from}, {"to", options_.to}}) {
        if (!value.empty()) query += std::string("&") + name + "=" + percent_encode(value);
    }
    return get("/v1/entries" + query, report::entries_text);
}

int Commands::show() {
    return get("/v1/entries/" + percent_encode(options_.id), report::entry_text);
}

int Commands::get(const std::string& target, const Render& render) {
    const auto answer = channel_.get(target);
    if (!answer) return not_there(answer.error());
    if (channel_.was_alone()) std::fprintf(stderr, "(the daemon is not running; read from its logbook)\n");
    return finish(*answer, render);
}

int Commands::post(const std::string& target, const Render& render) {
    const auto answer = channel_.post(target);
    if (!answer) return not_there(answer.error());
    return finish(*answer, render);
}

int Commands::finish(const HttpAnswer& answer, const Render& render, ExitCode when_refused) {
    if (answer.status >= 400) return refused(answer, when_refused);
    print(answer, render);
    return as_status(ExitCode::ok);
}

void Commands::print(const HttpAnswer& answer, const Render& render) const {
    const auto document = json::read(answer.body);
    std::string text = options_.as_json || !document ? answer.body : render(document->root());
    if (!options_.as_json && is_emphasis_wanted()) text = report::with_emphasis(text);
    std::fwrite(text.data(), 1, text.size(), stdout);
}

int Commands::not_there(const Error& error) const {
    if (error.code != Errc::unreachable) return complain(exit_code_of(error.code), error.detail);
    return complain(ExitCode::unavailable,
                    error.detail +
                        "; start the service (systemctl start nightferryd) or, as its user: nightferryd "
                        "--settings " +
                        options_.settings);
}

}  // namespace nightferry::command
