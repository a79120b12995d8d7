#include "config/load_settings.hpp"

#include <algorithm>
#include <boost/url.hpp>
#include <fstream>
#include <sstream>

#include "config/sections.hpp"
#include "config/settings_reader.hpp"
#include "daemon/core/words.hpp"

namespace nightferry::config {

bool is_key(std::string_view text) {
    return !text.empty() && text.size() <= 64 && std::all_of(text.begin(), text.end(), [](char c) {
        return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' ||
               c == '_';
    });
}

std::string read_key(TableReader& table, std::string_view key, std::string_view expected) {
    std::string text = table.need_text(key, expected);
    if (!text.empty() && !is_key(text)) {
        table.problem(key,
                      in_quotes(text) + " cannot be a key; use letters, digits, '-' and '_', at most 64");
    }
    return text;
}

std::string numbered(std::string_view list, std::size_t index) {
    return std::string(list) + "[" + std::to_string(index + 1) + "]";
}

namespace {

constexpr std::size_t settings_bytes_max = 1 << 20;

struct HubTable {
    std::string name;
    std::optional<Zone> zone;
    std::string identifier_system;
    std::filesystem::path data;
    std::filesystem::path inbox;
    std::filesystem::path socket;
    LogForm log = LogForm::automatic;
};

HubTable read_hub(TableReader& root, const std::filesystem::path& folder, std::vector<Problem>& problems) {
    HubTable hub;
    const toml::table* found = root.table("hub");
    if (found == nullptr) {
        if (!root.has("hub"))
            root.problem(
                "hub",
                "is missing; expected [hub] with name, zone, identifier_system, data, inbox and socket");
        return hub;
    }
    TableReader table(*found, "hub", problems);
    hub.name = read_key(table, "name", "a name for this hub that never changes");
    const std::string zone_name = table.need_text("zone", "a time zone like \"Europe/Dublin\"");
    if (!zone_name.empty()) {
        const auto zone = Zone::find(zone_name);
        if (zone) {
            hub.zone = *zone;
        } else {
            table.problem("zone", zone.error().detail);
        }
    }
    hub.identifier_system =
        table.need_text("identifier_system", "an absolute URI that names this hub's entries");
    if (!hub.identifier_system.empty() && !boost::urls::parse_uri(hub.identifier_system)) {
        table.problem("identifier_system", in_quotes(hub.identifier_system) +
                                               " is not an absolute URI like \"urn:example:home-7\"");
    }
    hub.data = folder / table.need_text("data", "the folder of the logbook");
    hub.inbox = folder / table.need_text("inbox", "the folder where entry files are dropped");
    hub.socket = folder / table.need_text("socket", "the path of the local socket");
    constexpr std::size_t socket_path_max = 107;  // sun_path of unix(7), less the final zero.
    if (hub.socket.native().size() > socket_path_max) {
        table.problem(
            "socket",
            "the path is longer than the system allows for a socket (107 bytes); choose a shorter one");
    }
    hub.log = read_log_form(table);
    table.report_leftovers();
    return hub;
}

std::optional<Reach> reach_of(const HubTable& hub) {
    if (!hub.zone || !hub.socket.has_filename()) return std::nullopt;
    return Reach{*hub.zone, hub.socket};
}

// Of what stands before a line.
std::optional<Reach> reach_before(std::size_t line, std::string_view text,
                                  const std::filesystem::path& folder) {
    std::size_t end = 0;
    for (std::size_t i = 1; i < line && end != std::string_view::npos; ++i)
        end = text.find('\n', end) == std::string_view::npos ? std::string_view::npos
                                                             : text.find('\n', end) + 1;
    try {
        toml::table parsed = toml::parse(text.substr(0, end));
        std::vector<Problem> unsaid;
        TableReader root(parsed, "", unsaid);
        return reach_of(read_hub(root, folder, unsaid));
    } catch (const toml::parse_error&) {
        return std::nullopt;
    }
}

}  // namespace

Loaded parse_settings(std::string_view text, const std::filesystem::path& folder) {
    Loaded loaded;
    toml::table parsed;
    try {
        parsed = toml::parse(text);
    } catch (const toml::parse_error& error) {
        loaded.problems.push_back(
            {error.source().begin.line, {}, "this is not valid TOML: " + std::string(error.description())});
        loaded.reach = reach_before(error.source().begin.line, text, folder);
        return loaded;
    }
    std::vector<Problem>& problems = loaded.problems;
    TableReader root(parsed, "", problems);
    HubTable hub = read_hub(root, folder, problems);
    loaded.reach = reach_of(hub);
    // Any zone will do for reading on when the right one is missing: a problem says so.
    const auto stand_in = Zone::find("UTC");
    if (!hub.zone && stand_in) hub.zone = *stand_in;
    if (!hub.zone) {
        problems.push_back({0, {}, "this system has no time zone data; install tzdata"});
        return loaded;
    }
    entry::Household household{hub.name, *hub.zone, read_persons(root, problems), {}, {}};
    household.carers = read_carers(root, household.persons, problems);
    const Medicines medicines = read_medicines(root, problems);
    household.medicines = medicines.medicines;
    std::vector<care::Plan> plans = read_regimens(root, household, medicines.products, problems);
    std::vector<Clinic> clinics;
    for (const toml::table* one : root.tables("clinic", 0, "a name, a url and patients")) {
        clinics.push_back(read_clinic(*one, numbered("clinic", clinics.size()), folder, household, problems));
        const bool repeated = std::any_of(clinics.begin(), clinics.end() - 1, [&](const Clinic& other) {
            return other.name == clinics.back().name;
        });
        if (repeated) root.problem("clinic", "the name " + in_quotes(clinics.back().name) + " is used twice");
    }
    const auto metrics = read_metrics(root, problems);
    const auto page = read_page(root, folder, problems);
    root.report_leftovers();
    std::stable_sort(problems.begin(), problems.end(),
                     [](const Problem& a, const Problem& b) { return a.line < b.line; });
    if (!problems.empty()) return loaded;
    loaded.settings = Settings{std::move(household),
                               std::move(hub.identifier_system),
                               std::move(hub.data),
                               std::move(hub.inbox),
                               std::move(hub.socket),
                               std::move(clinics),
                               std::move(plans),
                               hub.log,
                               metrics,
                               page};
    return loaded;
}

Loaded load_settings(const std::filesystem::path& file) {
    std::ifstream stream(file, std::ios::binary);
    std::ostringstream text;
    // Copying nothing counts as a failure, so an empty file is told apart from an unreadable one.
    std::error_code ignored;
    const bool is_folder = std::filesystem::is_directory(file, ignored);
    const bool is_empty = stream.peek() == std::ifstream::traits_type::eof();
    // A disk that fails looks like an end, too, but leaves the stream broken.
    if (!stream || is_folder || (!is_empty && !(text << stream.rdbuf()))) {
        return {std::nullopt, {{0, {}, "the file cannot be read; check its path and permissions"}}};
    }
    const std::string content = std::move(text).str();
    if (content.size() > settings_bytes_max)
        return {std::nullopt, {{0, {}, "the file is larger than 1 MiB"}}};
    return parse_settings(content, std::filesystem::absolute(file).parent_path());
}

std::string to_line(const std::filesystem::path& file, const Problem& problem) {
    std::string line = file.string();
    if (problem.line > 0) line += ":" + std::to_string(problem.line);
    line += ": ";
    if (!problem.key.empty()) line += problem.key + ": ";
    return line + problem.what;
}

}  // namespace nightferry::config
