// The daemon's composition root: command line, settings, real clock and chance, then the hub.
#include <sys/prctl.h>
#include <sys/stat.h>

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
#include "daemon/service/run.hpp"
#include "daemon/watching/hub_log.hpp"

namespace {

using namespace nightferry;

constexpr char about[] =
    "nightferryd keeps a home's injection log and carries it to the clinic.\n\n"
    "It runs in the foreground until SIGTERM or SIGINT and logs to standard error or, under systemd, to the\n"
    "journal. On SIGHUP it reads the settings again, with the keys and certificates that they name: good "
    "ones\n"
    "take effect, of others it says what is wrong and goes on as before. Entries come in through the inbox\n"
    "folder and the local socket that the settings name; 'nightferry --help' shows the command for people.\n"
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

std::optional<config::Settings> read_settings(const std::filesystem::path& file) {
    config::Loaded loaded = config::load_settings(file);
    for (const config::Problem& problem : loaded.problems)
        std::fprintf(stderr, "%s\n", config::to_line(file, problem).c_str());
    return std::move(loaded.settings);
}

int check(const std::filesystem::path& file) {
    const auto settings = read_settings(file);
    if (!settings) return as_status(ExitCode::settings);
    net::SystemClock clock;
    net::SystemRandom random;
    const auto log = service::open_log(settings->log, clock);
    const auto faults = door::faults_of_doors(*settings, clock, random, *log);
    for (const Error& fault : faults)
        std::fprintf(stderr, "%s: %s\n", file.c_str(), fault.detail.c_str());
    if (!faults.empty()) return as_status(ExitCode::settings);
    std::printf("%s: the settings are good, and so are the keys and certificates that they name\n",
                file.c_str());
    return as_status(ExitCode::ok);
}

int run(const std::filesystem::path& file) {
    // Before anything else, so that none is missed.
    service::Signals signals;
    auto settings = read_settings(file);
    if (!settings) return as_status(ExitCode::settings);
    net::SystemClock clock;
    net::SystemRandom random;
    const auto told = service::open_log(settings->log, clock);
    watching::CountedLog log(*told);
    auto manager = net::ServiceManager::of_this_process();
    const auto tell = [&file](const std::string& line) {
        std::fprintf(stderr, "%s: %s\n", file.c_str(), line.c_str());
    };
    const auto ended = service::run(std::move(*settings), {[&file] { return read_settings(file); }, tell,
                                                           clock, random, log, manager, signals});
    if (ended) return as_status(ExitCode::ok);
    std::fprintf(stderr, "nightferryd: %s\n", ended.error().detail.c_str());
    return as_status(exit_code_of(ended.error().code));
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
