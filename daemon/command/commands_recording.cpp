// The commands that record: files handed in, and entries from the command line.
#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <iterator>

#include "daemon/command/commands.hpp"
#include "daemon/core/words.hpp"
#include "daemon/entry/check.hpp"
#include "daemon/entry/reader.hpp"
#include "daemon/report/tables.hpp"
#include "fhir/json/reader.hpp"

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

}  // namespace

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
    if (answer->status != 200 && answer->status != 422 && answer->status != 400)
        return finish(*answer, render);
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
    return to_text(reach_.zone.at(clock_.now()));
}

std::string Commands::minute_now() const {
    const auto now = std::chrono::floor<std::chrono::minutes>(clock_.now());
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
    if (answer->status != 200 || !document) return finish(*answer, report::entry_text);
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

}  // namespace nightferry::command
