#include "daemon/command/commands.hpp"

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <iterator>
#include <thread>

#include "config/load_settings.hpp"
#include "daemon/core/words.hpp"
#include "daemon/entry/check.hpp"
#include "daemon/entry/reader.hpp"
#include "daemon/net/system_ports.hpp"
#include "daemon/report/tables.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/json/writer.hpp"

namespace nightferry::command {

namespace json = fhir::json;

namespace {

std::string csv_cell(std::string_view value) {
    std::string cell = "\"";
    for (const char c : value)
        cell += c == '"' ? std::string("\"\"") : std::string(1, c);
    return cell + "\"";
}

std::string media_type_of(entry::Format format) {
    switch (format) {
        case entry::Format::json:
            return "application/json";
        case entry::Format::ndjson:
            return "application/x-ndjson";
        case entry::Format::csv:
            return "text/csv";
    }
    return {};
}

int refused(const HttpAnswer& answer, ExitCode when_refused = ExitCode::usage) {
    const auto document = json::read(answer.body);
    const std::string words(document ? document->root().string_at("error") : std::string_view(answer.body));
    const bool missing = answer.status == 404 || answer.status == 409;
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

int check_settings(const std::string& file) {
    const config::Loaded loaded = config::load_settings(file);
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

int Commands::hand_in() {
    std::vector<std::string> files = options_.files;
    if (files.empty()) files.emplace_back("-");
    int status = 0;
    for (const std::string& file : files) {
        const int one = hand_in_file(file);
        if (one != 0) status = one;
    }
    return status;
}

int Commands::hand_in_file(const std::string& file) {
    std::string bytes;
    if (file == "-") {
        bytes.assign(std::istreambuf_iterator<char>(std::cin), {});
    } else {
        if (std::filesystem::is_directory(file))
            return complain(ExitCode::usage, file + " is a folder; name its files");
        std::ifstream stream(file, std::ios::binary);
        if (!stream) return complain(ExitCode::unavailable, file + " cannot be read");
        bytes.assign(std::istreambuf_iterator<char>(stream), {});
    }
    const auto format = entry::format_of_file(options_.format.empty() ? file : "." + options_.format);
    if (!format) {
        return complain(ExitCode::usage,
                        "the format of " + file + " is not clear; say --format json, ndjson or csv");
    }
    if (options_.files.size() > 1 && !options_.as_json) std::printf("%s: ", file.c_str());
    constexpr std::size_t at_once_bytes = 4 * 1024 * 1024;
    if (*format == entry::Format::ndjson && bytes.size() > at_once_bytes) return hand_in_parts(bytes);
    return hand_in_bytes(std::move(bytes), media_type_of(*format), report::answers_text);
}

int Commands::hand_in_bytes(std::string bytes, const std::string& media_type, const Render& render) {
    const auto answer = channel_.post("/v1/entries", std::move(bytes), media_type);
    if (!answer) return not_there(answer.error());
    if (answer->status != 200 && answer->status != 422 && answer->status != 400) return refused(*answer);
    print(*answer, render);
    return as_status(answer->status == 200 ? ExitCode::ok : ExitCode::bad_input);
}

std::optional<Commands::Cells> Commands::written_fields() const {
    Cells cells;
    for (const std::string& field : options_.fields) {
        const auto equals = field.find('=');
        if (equals == std::string::npos) {
            complain(ExitCode::usage, in_quotes(field) + " is not a field; write it like amount='0.20 mL'");
            return std::nullopt;
        }
        cells.emplace_back(field.substr(0, equals), field.substr(equals + 1));
    }
    return cells;
}

std::string Commands::now() const {
    return to_text(reach_.zone.at(net::SystemClock().now()));
}

std::string Commands::minute_now() const {
    const auto now = std::chrono::floor<std::chrono::minutes>(net::SystemClock().now());
    return to_text(reach_.zone.at(now));
}

// The fields are the columns of a spreadsheet, so one recorded entry is a spreadsheet of one row.
int Commands::hand_in_row(const Cells& cells) {
    std::string header;
    std::string row;
    for (const auto& [name, value] : cells) {
        header += (header.empty() ? "" : ",") + csv_cell(name);
        row += (row.empty() ? "" : ",") + csv_cell(value);
    }
    return hand_in_bytes(header + "\n" + row + "\n", "text/csv", report::recorded_text);
}

int Commands::record() {
    auto cells = written_fields();
    if (!cells) return as_status(ExitCode::usage);
    cells->insert(cells->begin(), {"type", options_.type});
    const auto has = [&](std::string_view name) {
        return std::any_of(cells->begin(), cells->end(),
                           [&](const auto& cell) { return cell.first == name; });
    };
    // When a dose was due, or when what is amended happened, is never now.
    const bool happened_now = options_.type != "dose_not_given" && !has("action");
    if (happened_now && !has("time") && !has("clock")) cells->emplace_back("time", minute_now());
    return hand_in_row(*cells);
}

int Commands::retract() {
    Cells cells{
        {"action", "retract"}, {"id", options_.id}, {"recorded", now()}, {"recorded_by", options_.by}};
    if (!options_.reason.empty()) cells.emplace_back("reason", options_.reason);
    return hand_in_row(cells);
}

// An amendment is the whole entry: what is not written anew is taken from the logbook.
int Commands::amend() {
    const auto changes = written_fields();
    if (!changes) return as_status(ExitCode::usage);
    const auto answer = channel_.get("/v1/entries/" + percent_encode(options_.id));
    if (!answer) return not_there(answer.error());
    const auto document = json::read(answer->body);
    if (answer->status != 200 || !document) return refused(*answer);
    Cells cells{{"action", "amend"}, {"recorded", now()}, {"recorded_by", options_.by}};
    if (!options_.reason.empty()) cells.emplace_back("reason", options_.reason);
    const auto known = entry::field_names();
    for (const json::Value& member : document->root()) {
        const std::string_view name = member.name();
        const bool is_content = std::find(known.begin(), known.end(), name) != known.end() &&
                                name != "action" && name != "recorded" && name != "recorded_by" &&
                                name != "reason";
        const bool changed = std::any_of(changes->begin(), changes->end(), [&](const auto& one) {
            // An amount written with its unit replaces both.
            return one.first == name || (one.first == "amount" && name == "unit");
        });
        if (!is_content || changed) continue;
        const bool flag = member.is(json::Kind::boolean);
        cells.emplace_back(std::string(name),
                           flag ? (member.boolean() ? "yes" : "no") : std::string(member.text()));
    }
    for (const auto& change : *changes) {
        if (!change.second.empty()) cells.push_back(change);
    }
    return hand_in_row(cells);
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

int Commands::queue() {
    return get("/v1/queue", report::queue_text);
}

int Commands::waiting() {
    return get("/v1/deliveries?state=waiting" + clinic_query('&'),
               [](const json::Value& answer) { return report::deliveries_text(answer, false); });
}

int Commands::set_aside() {
    return get("/v1/deliveries?state=set_aside" + clinic_query('&'),
               [](const json::Value& answer) { return report::deliveries_text(answer, true); });
}

int Commands::release() {
    std::string target = "/v1/deliveries/release" + clinic_query('?');
    if (!options_.id.empty())
        target += (options_.clinic.empty() ? "?entry=" : "&entry=") + percent_encode(options_.id);
    return post(target, [](const json::Value& answer) {
        return "released " + std::string(answer.find("released")->text()) +
               "; it goes out with the next pass\n";
    });
}

int Commands::settle() {
    json::Document closer;
    closer.root().add_string("by", options_.by);
    closer.root().add_string("reason", options_.reason);
    const auto answer =
        channel_.post("/v1/deliveries/settle" + clinic_query('?') + "&entry=" + percent_encode(options_.id),
                      json::write(closer.root()), media_type_of(entry::Format::json));
    if (!answer) return not_there(answer.error());
    const auto closed = [](const json::Value& settled) {
        return "closed " + std::string(settled.string_at("settled")) +
               "; nothing is sent, unless the entry is amended or retracted later\n";
    };
    return finish(*answer, closed, ExitCode::bad_input);
}

int Commands::pass() {
    const bool waits = options_.wait_seconds > 0;
    const int started = post("/v1/passes" + clinic_query('?'), [waits](const json::Value& answer) {
        std::string text;
        for (const json::Value& clinic : *answer.find("started")) {
            text += "pass to " + std::string(clinic.text()) + " started\n";
        }
        return waits ? text : text + "See how it goes: nightferry queue\n";
    });
    return started != 0 || !waits ? started : wait_for_pass();
}

int Commands::wait_for_pass() {
    const auto patience = std::chrono::seconds(options_.wait_seconds);
    constexpr auto step = std::chrono::milliseconds(100);
    for (std::chrono::milliseconds waited{0}; waited < patience; waited += step) {
        const auto answer = channel_.get("/v1/queue");
        if (!answer) return not_there(answer.error());
        const auto document = json::read(answer->body);
        if (document && !any_running(document->root())) {
            print(*answer, report::queue_text);
            return as_status(anything_waits(document->root()) ? ExitCode::unavailable : ExitCode::ok);
        }
        std::this_thread::sleep_for(step);
    }
    const int shown = queue();
    std::fprintf(stderr, "nightferry: the pass has not ended yet; it goes on by itself\n");
    return shown != 0 ? shown : as_status(ExitCode::locked);
}

bool Commands::is_meant(const json::Value& clinic) const {
    return options_.clinic.empty() || clinic.string_at("clinic") == options_.clinic;
}

bool Commands::any_running(const json::Value& queue) const {
    const json::Value& clinics = *queue.find("clinics");
    return std::any_of(clinics.begin(), clinics.end(), [&](const json::Value& clinic) {
        return is_meant(clinic) && clinic.find("pass")->find("running")->boolean();
    });
}

bool Commands::anything_waits(const json::Value& queue) const {
    const json::Value& clinics = *queue.find("clinics");
    return std::any_of(clinics.begin(), clinics.end(), [&](const json::Value& clinic) {
        return is_meant(clinic) && clinic.find("waiting")->text() != "0";
    });
}

std::string Commands::clinic_query(char mark) const {
    return options_.clinic.empty() ? std::string() : mark + ("clinic=" + percent_encode(options_.clinic));
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
    const std::string text = options_.as_json || !document ? answer.body : render(document->root());
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
