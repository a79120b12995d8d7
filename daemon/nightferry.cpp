// The command for people: command line and settings, then one of command::Commands.
#include <sys/stat.h>

#include <CLI/CLI.hpp>
#include <cstdio>
#include <exception>

#include "config/load_settings.hpp"
#include "daemon/command/command_line.hpp"
#include "daemon/core/exit_codes.hpp"
#include "daemon/core/words.hpp"
#include "daemon/manual/help_as.hpp"

namespace {

using namespace nightferry;

constexpr char about[] =
    "nightferry records injections in this home's logbook and shows what the clinic knows of them.\n";

constexpr char footer[] =
    "\nExamples:\n"
    "  nightferry record dose_given person=juniper by=marlow medicine=enoxaparin-100 amount='0.20 mL' \\\n"
    "      region=abdomen side=left x_cm=6 y_cm=0 vial=V3\n"
    "  nightferry hand-in doses.csv        hand in a spreadsheet; handing it in again is harmless\n"
    "  nightferry queue                    does the clinic have everything?\n"
    "  nightferry share                    what would leave this home next, word for word\n"
    "  nightferry pass --wait 60           send now, and wait for the end\n"
    "  nightferry report --from 2026-10-12 --to 2026-11-01    what became of the doses, on one page\n"
    "  nightferry fhir-check --release R5 answers/    are these FHIR resources valid?\n"
    "\nEntry fields are described in nightferry-entry(5). Nightferry records; it never advises a\n"
    "dose and nobody watches it in real time. In an emergency call your local emergency number.\n"
    "\nExit status: 0 done; 64 wrong command line; 65 something handed in was refused (the rest was taken),\n"
    "or a FHIR resource is not valid; 69 the daemon, the clinic or the thing asked for was not reached;\n"
    "73 a file cannot be made, or is there already; 74 the disk or this machine failed; 75 something is\n"
    "locked, or has not ended yet; 78 settings to correct.\n";

// When what stands in a command's place is none.
std::string no_such_command(const CLI::App& app) {
    const std::vector<std::string> left = app.remaining();
    if (!app.get_subcommands().empty() || left.empty() || left.front().starts_with('-')) return {};
    std::vector<std::string> names;
    for (const CLI::App* sub : app.get_subcommands([](const CLI::App*) { return true; }))
        names.push_back(sub->get_name());
    return in_quotes(left.front()) + " is no command." +
           did_you_mean(left.front(), std::vector<std::string_view>(names.begin(), names.end())) +
           " 'nightferry --help' lists them";
}

int start(int argc, char** argv) {
    CLI::App app{about, "nightferry"};
    app.footer(footer);
    app.set_version_flag("--version", "nightferry " NIGHTFERRY_VERSION);
    command::Options options;
    options.version = NIGHTFERRY_VERSION;
    command::Wanted wanted;
    command::describe(app, options, wanted);
    manual::offer_help_as(app, {"1",
                                "record injections at home and see what the clinic knows of them",
                                "nightferry " NIGHTFERRY_VERSION,
                                {"nightferryd(8)", "nightferry.toml(5)", "nightferry-entry(5)"}});
    try {
        app.parse(argc, argv);
    } catch (const CLI::ParseError& error) {
        if (const std::string words = no_such_command(app); !words.empty())
            return command::complain(ExitCode::usage, words);
        return as_status(app.exit(error) == 0 ? ExitCode::ok : ExitCode::usage);
    }
    if (wanted.without_settings) return wanted.without_settings();
    config::Loaded loaded = config::load_settings(options.settings);
    for (const config::Problem& problem : loaded.problems) {
        std::fprintf(stderr, "%s\n", config::to_line(options.settings, problem).c_str());
    }
    if (!loaded.settings && (wanted.needs_good_settings || !loaded.reach))
        return as_status(ExitCode::settings);
    if (!loaded.settings) {
        std::fprintf(stderr,
                     "nightferry: correct these settings; a daemon that runs goes on with those from "
                     "before, and is asked now\n");
    }
    command::Commands commands(std::move(loaded), std::move(options));
    return (commands.*wanted.run)();
}

}  // namespace

int main(int argc, char** argv) {
    ::umask(0027);  // Health data are for this user and its group.
    try {
        return start(argc, argv);
    } catch (const std::exception& bug) {
        std::fprintf(stderr, "nightferry: ended by an unexpected failure: %s\n", bug.what());
        return as_status(ExitCode::io);
    }
}
