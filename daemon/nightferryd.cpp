// The daemon's composition root: command line, settings, real clock and chance, then the hub.
#include <sys/prctl.h>
#include <sys/stat.h>

#include <CLI/CLI.hpp>
#include <cstdio>
#include <exception>

#include "config/load_settings.hpp"
#include "daemon/core/exit_codes.hpp"
#include "daemon/door/clinic_door.hpp"
#include "daemon/net/system_ports.hpp"
#include "daemon/service/hub.hpp"
#include "daemon/service/text_log.hpp"

namespace {

using namespace nightferry;

constexpr char about[] =
    "nightferryd keeps a home's injection log and carries it to the clinic.\n\n"
    "It runs in the foreground until SIGTERM, SIGINT or SIGHUP and logs to standard error. Entries come in "
    "through "
    "the\n"
    "inbox folder and the local socket that the settings name; 'nightferry --help' shows the command for "
    "people.\n";

constexpr char footer[] =
    "\nExit status: 0 stopped as asked; 64 wrong command line; 74 the logbook's disk failed or the logbook "
    "is\n"
    "damaged; 75 another nightferryd holds the logbook or the socket; 78 the settings have to be "
    "corrected.\n";

int run(const std::filesystem::path& file, bool check_only) {
    const config::Loaded loaded = config::load_settings(file);
    for (const config::Problem& problem : loaded.problems)
        std::fprintf(stderr, "%s\n", config::to_line(file, problem).c_str());
    if (!loaded.settings) return as_status(ExitCode::settings);
    net::SystemClock clock;
    net::SystemRandom random;
    service::TextLog log(clock);
    if (check_only) {
        const auto faults = door::faults_of_doors(*loaded.settings, clock, random, log);
        for (const Error& fault : faults)
            std::fprintf(stderr, "%s: %s\n", file.c_str(), fault.detail.c_str());
        if (!faults.empty()) return as_status(ExitCode::settings);
        std::printf("%s: the settings are good, and so are the keys and certificates that they name\n",
                    file.c_str());
        return as_status(ExitCode::ok);
    }
    const auto ended = service::run_hub(*loaded.settings, clock, random, log);
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
    app.set_version_flag("--version", "nightferryd " NIGHTFERRY_VERSION);
    std::string file = "/etc/nightferry/nightferry.toml";
    bool check_only = false;
    app.add_option("--settings", file, "the settings file")
        ->capture_default_str()
        ->envname("NIGHTFERRY_SETTINGS");
    app.add_flag("--check", check_only,
                 "only check the settings, and the files of keys and certificates that they name, and say "
                 "what is wrong");
    try {
        app.parse(argc, argv);
    } catch (const CLI::ParseError& error) {
        const int code = app.exit(error);
        return as_status(code == 0 ? ExitCode::ok : ExitCode::usage);
    }
    try {
        return run(file, check_only);
    } catch (const std::exception& bug) {
        // Out of memory, or our own mistake: the logbook is safe, a supervisor starts us again.
        std::fprintf(stderr, "nightferryd: ended by an unexpected failure: %s\n", bug.what());
        return as_status(ExitCode::io);
    }
}
