// The daemon's composition root: command line, settings, real clock and chance, then the hub.
#include <sys/prctl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <cstdio>
#include <exception>
#include <optional>

#include "config/load_settings.hpp"
#include "daemon/core/exit_codes.hpp"
#include "daemon/door/clinic_door.hpp"
#include "daemon/logbook/schema.hpp"
#include "daemon/manual/help_as.hpp"
#include "daemon/net/system_ports.hpp"
#include "daemon/service/open_log.hpp"
#include "daemon/service/page_server.hpp"
#include "daemon/service/run.hpp"
#include "daemon/watching/hub_log.hpp"

namespace {

using namespace nightferry;

constexpr char about[] =
    "nightferryd keeps a home's injection log and carries it to the clinic.\n\n"
    "It runs in the foreground until SIGTERM or SIGINT and logs to standard error or, under systemd, to the\n"
    "journal. On SIGHUP it reads the settings again, with the keys and certificates that they name: good "
    "ones\n"
    "take effect, of others the log says where they are wrong, and it goes on as before. Entries come in\n"
    "through the inbox folder and the local socket that the settings name; 'nightferry --help' shows the\n"
    "command for people.\n"
    "\n"
    "Over the same socket, and over TCP where [metrics] of the settings says so, GET /v1/health, /v1/ready "
    "and\n"
    "/metrics (OpenMetrics) tell how it is.\n\n"
    "A service manager that sets NOTIFY_SOCKET (systemd: Type=notify) is told when it is ready, reloading "
    "or\n"
    "stopping, how it stands, and with WATCHDOG_USEC that its event loop goes round. It runs as well "
    "without.\n";

constexpr char footer[] =
    "\nExit status: 0 stopped as asked; 64 wrong command line; 74 the logbook's disk failed or the logbook "
    "is\n"
    "damaged; 75 another nightferryd holds the logbook or the socket; 78 the settings have to be "
    "corrected.\n";

int check(const std::filesystem::path& file) {
    const config::Loaded loaded = config::load_settings(file);
    for (const config::Problem& problem : loaded.problems)
        std::fprintf(stderr, "%s\n", config::to_line(file, problem).c_str());
    const auto& settings = loaded.settings;
    if (!settings) return as_status(ExitCode::settings);
    net::SystemClock clock;
    net::SystemRandom random;
    const auto log = service::open_log(settings->log, clock);
    const auto faults = door::faults_of_doors(*settings, clock, random, *log);
    for (const door::DoorFault& fault : faults)
        std::fprintf(stderr, "%s: %s\n", file.c_str(), fault.error.detail.c_str());
    const auto page_fault = service::fault_of_page(*settings);
    if (page_fault) std::fprintf(stderr, "%s: %s\n", file.c_str(), page_fault->detail.c_str());
    if (!faults.empty() || page_fault) return as_status(ExitCode::settings);
    std::printf("%s: the settings are good, and so are the keys and certificates that they name\n",
                file.c_str());
    return as_status(ExitCode::ok);
}

// Settings quote names and medicines, and so do their problems: whoever sits at the terminal may read them,
// but a log tells only where they are.
bool is_somebody_there() {
    return ::isatty(STDERR_FILENO) == 1;
}

std::optional<config::Settings> read_settings(const std::filesystem::path& file, Log& log) {
    config::Loaded loaded = config::load_settings(file);
    for (const config::Problem& problem : loaded.problems) {
        if (is_somebody_there()) std::fprintf(stderr, "%s\n", config::to_line(file, problem).c_str());
        const std::string line = std::to_string(problem.line);
        if (!problem.place.empty()) {
            log.event(LogEvent::settings_problem,
                      {{"file", file.string()}, {"line", line}, {"key", problem.place}});
        } else if (problem.line > 0) {
            log.event(LogEvent::settings_problem, {{"file", file.string()}, {"line", line}});
        } else {
            // What is wrong with the file as a whole quotes nothing of it.
            log.event(LogEvent::settings_problem, {{"file", file.string()}, {"reason", problem.what}});
        }
    }
    return std::move(loaded.settings);
}

int end(Log& log, ExitCode code, const std::string& reason) {
    log.event(LogEvent::ended, {{"status", std::to_string(as_status(code))}, {"reason", reason}});
    return as_status(code);
}

int live(const std::filesystem::path& file, config::Settings settings, Clock& clock,
         service::Signals& signals) {
    const auto told = service::open_log(settings.log, clock);
    watching::CountedLog log(*told);
    net::SystemRandom random;
    auto manager = net::ServiceManager::of_this_process();
    const auto tell = [&file](const std::string& line) {
        if (is_somebody_there()) std::fprintf(stderr, "%s: %s\n", file.c_str(), line.c_str());
    };
    try {
        const auto ended = service::run(std::move(settings), {[&] { return read_settings(file, log); }, tell,
                                                              clock, random, log, manager, signals});
        if (ended) return as_status(ExitCode::ok);
        return end(log, exit_code_of(ended.error().code), ended.error().detail);
    } catch (const std::exception& bug) {
        // Out of memory, or our own mistake: the logbook is safe, a supervisor starts us again.
        return end(log, ExitCode::io, std::string("an unexpected failure: ") + bug.what());
    }
}

int run(const std::filesystem::path& file) {
    // Before anything else, so that none is missed.
    service::Signals signals;
    net::SystemClock clock;
    // What form the log is to have stands in the settings.
    auto log = service::open_log(config::LogForm::automatic, clock);
    auto settings = read_settings(file, *log);
    if (!settings) {
        return end(*log, ExitCode::settings,
                   "the settings are not good; 'nightferryd --check' says what is wrong with them");
    }
    log.reset();
    return live(file, std::move(*settings), clock, signals);
}

}  // namespace

int main(int argc, char** argv) {
    ::umask(0027);                         // Health data are for this user and its group.
    ::prctl(PR_SET_DUMPABLE, 0, 0, 0, 0);  // No core file may hold them, nor a key.
    CLI::App app{about, "nightferryd"};
    app.footer(footer);
    app.set_version_flag("--version", "nightferryd " NIGHTFERRY_VERSION " (logbook version " +
                                          std::to_string(logbook::schema_version()) + ")");
    std::string file = "/etc/nightferry/nightferry.toml";
    bool check_only = false;
    app.add_option("--settings", file, "the settings file")
        ->capture_default_str()
        ->envname("NIGHTFERRY_SETTINGS")
        ->type_name("FILE");
    app.add_flag("--check", check_only,
                 "only check the settings, and the files of keys and certificates that they name, and say "
                 "what is wrong");
    manual::offer_help_as(app, {"8",
                                "keep a home's injection log and carry it to the clinic",
                                "nightferry " NIGHTFERRY_VERSION,
                                {"nightferry(1)", "nightferry.toml(5)", "nightferry-entry(5)"}});
    try {
        app.parse(argc, argv);
    } catch (const CLI::ParseError& error) {
        const int code = app.exit(error);
        return as_status(code == 0 ? ExitCode::ok : ExitCode::usage);
    }
    try {
        return check_only ? check(file) : run(file);
    } catch (const std::exception& bug) {
        // Out of memory, or our own mistake: the logbook is safe, a supervisor starts us again.
        std::fprintf(stderr, "nightferryd: ended by an unexpected failure: %s\n", bug.what());
        return as_status(ExitCode::io);
    }
}
