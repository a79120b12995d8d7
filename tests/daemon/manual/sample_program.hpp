// A small command line with one of everything that a grammar has.
#pragma once

#include <CLI/CLI.hpp>
#include <string>
#include <vector>

namespace nightferry::manual::test {

struct SampleProgram {
    CLI::App app{"ferry carries things.\n\n'ferry list' shows them.", "ferry"};
    std::string settings = "/etc/ferry";
    std::string kind;
    std::vector<std::string> files;
    long limit = 10;

    SampleProgram() {
        app.footer(
            "\nExamples:\n  ferry list --limit 5\n\nIt never swims.\n\nExit status: 0 done; 64 "
            "wrong\ncommand line.\n");
        app.add_option("--settings", settings, "the settings file")
            ->capture_default_str()
            ->envname("FERRY_SETTINGS")
            ->type_name("FILE");
        CLI::App* list = app.add_subcommand("list", "list things");
        list->add_option("-l,--limit", limit, "at most so many")
            ->capture_default_str()
            ->check(CLI::Range(1, 100));
        CLI::App* load = app.add_subcommand("load", "load things");
        load->add_option("--kind", kind, "what they are")
            ->required()
            ->check(CLI::IsMember(std::vector<std::string>{"crate", "barrel"}));
        load->add_option("file", files, "files with a list of them")->required()->type_name("FILE");
        load->footer("\n.lists are read first.\n");
    }
};

}  // namespace nightferry::manual::test
