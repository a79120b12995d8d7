#include "daemon/command/examples.hpp"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <array>
#include <cassert>
#include <string>
#include <string_view>

namespace nightferry::command {

namespace {

struct Example {
    std::string_view command;
    std::string_view lines;
};

// Persons, carers and clinics are those of the demo household.
constexpr std::array examples{
    Example{"hand-in",
            "  nightferry hand-in doses.csv\n"
            "  spreadsheet-export | nightferry hand-in --format csv -"},
    Example{"record",
            "  nightferry record dose_given person=juniper by=marlow medicine=enoxaparin-100 amount='0.20 "
            "mL' \\\n"
            "      region=thigh side=left\n"
            "  nightferry record dose_not_given person=juniper by=tove time=2026-10-15T20:00 \\\n"
            "      medicine=enoxaparin-100 why=not_at_hand"},
    Example{"amend",
            "  nightferry amend ID amount='0.18 mL' --by marlow --reason 'Read the syringe wrongly'"},
    Example{"retract", "  nightferry retract ID --by marlow --reason 'Recorded twice'"},
    Example{"list", "  nightferry list --person juniper --limit 20"},
    Example{"show", "  nightferry show ID"},
    Example{"explain", "  nightferry explain ID"},
    Example{"queue", "  nightferry queue"},
    Example{"waiting", "  nightferry waiting --clinic clinic-1"},
    Example{"set-aside", "  nightferry set-aside --clinic clinic-1"},
    Example{"release", "  nightferry release ID --clinic clinic-1"},
    Example{
        "settle",
        "  nightferry settle ID --clinic clinic-1 --by marlow --reason 'The nurse wrote it down herself'"},
    Example{"pass", "  nightferry pass --wait 60"},
    Example{"share",
            "  nightferry share --clinic clinic-1 --json | jq .\n"
            "  nightferry share --back-to 2026-10-01"},
    Example{"back-date", "  nightferry back-date --clinic clinic-1 --to 2026-10-01 --by marlow"},
    Example{"withdrawn", "  nightferry withdrawn --clinic clinic-1"},
    Example{"audit", "  nightferry audit --entry ID"},
    Example{"report",
            "  nightferry report --from 2026-10-12 --to 2026-10-25\n"
            "  nightferry report --person juniper --known-at 2026-11-01T09:00"},
    Example{"since-dose", "  nightferry since-dose --at 2026-10-19T11:30"},
    Example{"flags", "  nightferry flags --all"},
    Example{"settle-flag", "  nightferry settle-flag KEY --by marlow --reason 'Rang the clinic on the 19th'"},
    Example{"orders", "  nightferry orders --propose --person juniper"},
    Example{"check", "  nightferry check /etc/nightferry/nightferry.toml"},
    Example{"check-clinic", "  sudo -u nightferry nightferry check-clinic --clinic clinic-1"},
    Example{"fhir-check", "  nightferry fhir-check --release R5 answers/"},
    Example{"new-key", "  nightferry new-key /etc/nightferry/clinic.pem"},
    Example{"new-certificate",
            "  nightferry new-certificate /etc/nightferry/page.pem /etc/nightferry/page-key.pem \\\n"
            "      --name hub.home.arpa --name 192.168.1.10"},
    Example{"pair", "  nightferry pair --carer tove --name \"Tove's phone\""},
    Example{"devices", "  nightferry devices"},
    Example{"unpair", "  nightferry unpair ID --by marlow"},
    Example{"public-keys", "  nightferry public-keys --clinic clinic-1"},
    Example{"backup", "  nightferry backup /mnt/backups/logbook-$(date +%F)"},
    Example{"verify-backup", "  nightferry verify-backup /mnt/backups/logbook-2026-11-26"},
    Example{"restore",
            "  sudo -u nightferry nightferry restore --move-aside /mnt/backups/logbook-2026-11-26"},
    Example{"export",
            "  nightferry export --ndjson entries.ndjson --fhir entries.json\n"
            "  nightferry export --ndjson - | gpg --encrypt --recipient KEY >entries.ndjson.gpg"},
    Example{"erase-person",
            "  sudo -u nightferry nightferry erase-person juniper --by marlow --reason 'Moved away'"},
    Example{"check-logbook", "  nightferry check-logbook"}};

}  // namespace

void add_examples(CLI::App& app) {
    for (CLI::App* command : app.get_subcommands([](CLI::App*) { return true; })) {
        const auto example = std::ranges::find(examples, command->get_name(), &Example::command);
        assert(example != examples.end());
        // One without words of its own has got the program's.
        const std::string before = command->get_footer() == app.get_footer() ? "" : command->get_footer();
        command->footer(before + (before.empty() || before.ends_with("\n") ? "\n" : "\n\n") + "Examples:\n" +
                        std::string(example->lines) + "\n");
    }
}

}  // namespace nightferry::command
