#include "daemon/command/command_line.hpp"

#include <CLI/CLI.hpp>

#include "daemon/command/examples.hpp"

namespace nightferry::command {

namespace {

// Collects the subcommands.
struct Grammar {
    CLI::App& app;
    Options& options;
    Wanted& wanted;

    CLI::App* command(const char* name, const char* help, Wanted::Run what) {
        CLI::App* sub = app.add_subcommand(name, help)->fallthrough();
        sub->callback([&wanted = wanted, what] { wanted.run = what; });
        return sub;
    }
    CLI::App* command_by_settings(const char* name, const char* help, Wanted::Run what) {
        CLI::App* sub = app.add_subcommand(name, help)->fallthrough();
        sub->callback([&wanted = wanted, what] { wanted = {what, true, {}}; });
        return sub;
    }
    void without_settings(CLI::App* sub, int (*what)(const Options&)) {
        sub->callback([&wanted = wanted, &said = options, what] {
            wanted.without_settings = [&said, what] { return what(said); };
        });
    }
    void with_clinic(CLI::App* sub) { sub->add_option("--clinic", options.clinic, "only this clinic"); }
    CLI::App* with_author(CLI::App* sub) {
        sub->add_option("id", options.id, "its id")->required();
        sub->add_option("--by", options.by, "the carer who writes this down")->required();
        sub->add_option("--reason", options.reason, "why");
        return sub;
    }

    void describe();
    void describe_recording();
    void describe_reading();
    void describe_sending();
    void describe_sharing();
    void describe_computed();
    void describe_checking();
    void describe_keys();
    void describe_devices();
    void describe_care_of_the_logbook();
};

void Grammar::describe() {
    app.require_subcommand(1);
    app.add_option("--settings", options.settings, "the settings file")
        ->capture_default_str()
        ->envname("NIGHTFERRY_SETTINGS")
        ->type_name("FILE");
    app.add_flag("--json", options.as_json, "print the daemon's answer as JSON");
    describe_recording();
    describe_reading();
    describe_sending();
    describe_sharing();
    describe_computed();
    describe_checking();
    describe_keys();
    describe_devices();
    describe_care_of_the_logbook();
    add_examples(app);
}

void Grammar::describe_recording() {
    CLI::App* hand_in = command("hand-in", "hand in files of entries or FHIR resources, or standard input",
                                &Commands::hand_in);
    hand_in->add_option("file", options.files, "JSON, NDJSON or CSV; - or nothing for standard input")
        ->type_name("FILE");
    hand_in->add_option("--format", options.format, "json, ndjson or csv, where the name does not tell");

    CLI::App* record = command("record", "record one entry from the command line", &Commands::record);
    record->add_option("type", options.type, "dose_given, dose_not_given, finding, weight or vial_opened")
        ->required();
    record->add_option("fields", options.fields,
                       "fields like amount='0.20 mL'; what happened without a time happened now");

    with_author(command("amend", "record a later version of an entry", &Commands::amend))
        ->add_option("fields", options.fields, "what changes, like amount='0.18 mL'; the rest stays")
        ->required();
    with_author(command("retract", "mark an entry as recorded in error", &Commands::retract));
}

void Grammar::describe_reading() {
    CLI::App* list = command("list", "list entries, newest first", &Commands::list);
    list->add_option("--person", options.person, "only of this person");
    list->add_option("--from", options.from, "happened at or after, like 2026-10-12T00:00+01:00");
    list->add_option("--to", options.to, "happened before");
    list->add_option("--limit", options.limit, "at most so many")
        ->capture_default_str()
        ->check(CLI::Range(1, 10'000));

    CLI::App* show = command("show", "show one entry with its revisions and receipts", &Commands::show);
    show->add_option("id", options.id, "its id")->required();

    CLI::App* explain =
        command("explain", "tell one entry's whole way, and what can be done about it", &Commands::explain);
    explain->add_option("id", options.id, "its id")->required();

    command("queue", "say for each clinic whether it has everything", &Commands::queue);
    with_clinic(command("waiting", "show what waits to be sent", &Commands::waiting));
    with_clinic(command("set-aside", "show what a clinic refused, with its words", &Commands::set_aside));
}

void Grammar::describe_sending() {
    CLI::App* release = command("release", "send again what was set aside", &Commands::release);
    release->add_option("id", options.id, "one entry; without it everything that is set aside");
    with_clinic(release);

    CLI::App* settle = with_author(
        command("settle", "close what was set aside, once it is settled with the clinic", &Commands::settle));
    settle->get_option("--reason")->required();
    settle->add_option("--clinic", options.clinic, "the clinic with which it was settled")->required();

    CLI::App* pass = command("pass", "start sending now", &Commands::pass);
    pass->add_option("--wait", options.wait_seconds, "wait so many seconds for the end")
        ->check(CLI::Range(0, 86'400));
    with_clinic(pass);
}

void Grammar::describe_sharing() {
    CLI::App* share = command("share", "show what would leave, for whom, before it does; changes nothing",
                              &Commands::share);
    share->add_option("--person", options.person, "only of this person");
    share->add_option("--back-to", options.to,
                      "also what back-dating to this day would add, like 2026-10-01");
    share->footer(
        "\nWith --json the answer holds the FHIR Bundle as it would be sent, byte for byte. A server that "
        "takes less "
        "at\nonce gets the same resources in several.");
    CLI::App* back = command("back-date", "send also what was recorded before a clinic was to have it",
                             &Commands::back_date);
    back->add_option("--clinic", options.clinic, "the clinic that is to get it")->required();
    back->add_option("--to", options.to, "as far as it happened on this day or later, like 2026-10-01")
        ->required();
    back->add_option("--by", options.by, "the carer who decided it")->required();
    CLI::App* withdrawn = command("withdrawn", "list what clinics have that is not shared with them any more",
                                  &Commands::withdrawn);
    CLI::App* audit =
        command("audit", "show what became of every entry, and check that no row of it was changed",
                &Commands::audit);
    audit->add_option("--entry", options.id, "only of the entry with this id");
    for (CLI::App* one : {share, withdrawn, audit}) {
        with_clinic(one);
        one->add_option("--limit", options.limit, "at most so many")
            ->capture_default_str()
            ->check(CLI::Range(1, 10'000));
    }
}

void Grammar::describe_computed() {
    CLI::App* report = command("report", "show a period: doses, sites, lesions, vials, and what to look at",
                               &Commands::report);
    report->add_option("--from", options.from, "the first day, like 2026-10-12; two weeks if left out");
    report->add_option("--to", options.to, "the last day; today if left out");
    report->add_option("--known-at", options.at,
                       "as it was known then, like 2026-11-01T09:00; now if left out");
    CLI::Option* page =
        report->add_option("--html", options.html,
                           "write it as one page to read and print; a new file, or - for standard output");
    page->type_name("FILE");
    report->add_option("--language", options.language, "of that page")
        ->capture_default_str()
        ->check(CLI::IsMember({"en", "de"}))
        ->option_text("en|de")
        ->needs(page);
    CLI::App* since = command("since-dose", "say how long ago the last dose was", &Commands::since_dose);
    since->add_option("--at", options.at, "at this time, as for a blood sample; now if left out");
    CLI::App* flags = command("flags", "show what somebody should look at", &Commands::flags);
    flags->add_flag("--all", options.all, "also what was dealt with");
    CLI::App* settle =
        with_author(command("settle-flag", "say that somebody dealt with a flag", &Commands::settle_flag));
    settle->get_option("id")->description("its key, as flags shows it");
    settle->get_option("--reason")->required();
    CLI::App* orders =
        command("orders", "show what clinics list as ordered, beside the regimen", &Commands::orders);
    orders->add_flag("--propose", options.propose,
                     "print a [[regimen]] made of it, to compare and copy; it writes no settings");
    orders->add_option("--person", options.person, "of this person; needed where there are several");
    for (CLI::App* one : {report, since, flags, settle})
        one->add_option("--person", options.person, "of this person; needed where several have a regimen");
}

void Grammar::describe_checking() {
    CLI::App* settings =
        app.add_subcommand("check", "check a settings file and say everything that is wrong with it");
    settings->fallthrough()->add_option("file", options.settings, "the settings file")->type_name("FILE");
    without_settings(settings,
                     [](const Options& said) { return check_settings(said.settings, said.as_json); });

    CLI::App* clinic = command_by_settings(
        "check-clinic", "try the way in to a clinic step by step, and say how far it is open",
        &Commands::check_clinic);
    with_clinic(clinic);
    clinic->add_flag("--send-test-record", options.send_test_record,
                     "also send one record about this hub and no person, and mark it as entered in error");
    clinic->footer(
        "\nIt goes in as the daemon does, with the same keys, so it has to run as the daemon's user. Nothing "
        "that\n"
        "was recorded is sent. Exit status: 0 records would cross; 69 they would not, or not all.");

    CLI::App* resources =
        app.add_subcommand("fhir-check", "check FHIR resources in files against the published definitions");
    resources->footer(
        "\nChecked are structure, cardinality, primitive forms, required codes that the release lists, "
        "reference\n"
        "types, and the published invariants of the data types and of the resource types that are exchanged "
        "here.\n"
        "Not checked: profiles, other terminology, and whether what is referred to exists.\n"
        "Exit status: 0 all valid; 65 some are not; 64 wrong command line; 69 a file could not be read.");
    resources
        ->add_option("path", options.fhir_check.paths,
                     "files; folders with .json and .ndjson files; - for standard input")
        ->required()
        ->type_name("FILE");
    resources->add_option("--release", options.release, "the release whose definitions count; R4 if left out")
        ->check(CLI::IsMember({"R4", "R4B", "R5"}, CLI::ignore_case))
        ->option_text("R4|R4B|R5");
    resources->add_flag("--outcome", options.fhir_check.as_outcome,
                        "print one OperationOutcome per resource and line, for programs");
    resources->add_flag("--ndjson", options.fhir_check.resource_per_line,
                        "every line is a resource, as it is in .ndjson files");
    resources->add_flag("--no-warnings", options.errors_only, "leave out what is only discouraged");
    without_settings(resources, [](const Options& said) {
        FhirCheck asked = said.fhir_check;
        asked.warnings = !said.errors_only;
        asked.release = *release_named(said.release);
        return check_fhir(asked);
    });
}

void Grammar::describe_keys() {
    CLI::App* make = app.add_subcommand(
        "new-key", "make a key pair for signing in at a clinic, and print its public half");
    make->add_option("file", options.new_key.file, "where the private key goes; it must not be there yet")
        ->required()
        ->type_name("FILE");
    make->add_option("--algorithm", options.new_key.algorithm, "how it is to sign")
        ->capture_default_str()
        ->check(CLI::IsMember({"RS256", "RS384", "ES256", "ES384"}));
    without_settings(make, [](const Options& said) { return make_key(said.new_key); });
    with_clinic(command_by_settings("public-keys", "print the public keys of a clinic's settings, for its IT",
                                    &Commands::public_keys));
}

void Grammar::describe_devices() {
    CLI::App* make = app.add_subcommand(
        "new-certificate", "make a certificate and its key for the page that carers' phones open");
    make->add_option("file", options.new_certificate.file,
                     "where the certificate goes; it must not be there yet")
        ->required()
        ->type_name("FILE");
    make->add_option("key", options.new_certificate.key_file, "where its private key goes; nor this")
        ->required()
        ->type_name("FILE");
    make->add_option("--name", options.new_certificate.names,
                     "a name or an address under which phones open the page; repeat it for more")
        ->required();
    make->add_option("--days", options.new_certificate.days,
                     "for so many days; phones take none for more than 825")
        ->capture_default_str()
        ->check(CLI::Range(1, 825));
    without_settings(make, [](const Options& said) { return make_certificate(said.new_certificate); });

    CLI::App* pair = command(
        "pair", "let a carer's phone in: ask for a code that is typed there within minutes", &Commands::pair);
    pair->add_option("--carer", options.carer, "whose phone it is")->required();
    pair->add_option("--name", options.name, "what you call it, like \"Tove's phone\"")->required();
    command("devices", "list the phones that were let in", &Commands::devices);
    CLI::App* unpair = command("unpair", "let a phone in no longer", &Commands::unpair);
    unpair->add_option("id", options.id, "its id, as devices shows it")->required();
    unpair->add_option("--by", options.by, "the carer who decided it")->required();
}

void Grammar::describe_care_of_the_logbook() {
    CLI::App* backup =
        command("backup", "write a copy of the whole logbook, checked, while the daemon runs or not",
                &Commands::backup);
    backup->add_option("file", options.backup_file, "where it goes; it must not be there yet")->required();
    CLI::App* verify = app.add_subcommand("verify-backup", "check that a backup is whole and can be read");
    verify->fallthrough()->add_option("file", options.backup_file, "the backup")->required();
    without_settings(verify,
                     [](const Options& said) { return verify_backup(said.backup_file, said.as_json); });
    CLI::App* restore = command_by_settings(
        "restore", "put a backup in the logbook's place, while no daemon runs", &Commands::restore);
    restore->add_option("file", options.backup_file, "the backup; it stays as it is")->required();
    restore->add_flag("--move-aside", options.move_aside,
                      "rename a logbook that is there; without this it is refused");
    restore->footer(
        "\nRun it as the daemon's user, or as root. Afterwards the clinic is asked about whatever may have "
        "been\n"
        "sent since the backup was made before anything of it is sent again. backup.md tells more.");
    CLI::App* away =
        command("export", "write everything that was recorded in open form", &Commands::export_entries);
    away->add_option("--ndjson", options.ndjson,
                     "as entries with all revisions; handed in at another hub they are the same entries")
        ->type_name("FILE");
    away->add_option("--fhir", options.fhir, "as a FHIR R4 Bundle of what is in effect")->type_name("FILE");
    away->add_option("--person", options.person, "only of this person");
    CLI::App* erase = command_by_settings("erase-person", "erase everything of one person for good",
                                          &Commands::erase_person);
    erase->add_option("person", options.person, "the person's key")->required();
    erase->add_option("--by", options.by, "the carer who decided it")->required();
    erase
        ->add_option("--reason", options.reason,
                     "why; kept in the audit trail for good, so name no health data in it")
        ->required();
    erase->add_flag("--yes", options.yes, "do not ask first");
    erase->footer(
        "\nIt needs the logbook alone: stop the daemon first. Run it as the daemon's user, or as root. "
        "erasing.md\ntells what is erased, and what is not.");
    command("check-logbook", "check the logbook: its file, its entries, its counts and the audit trail",
            &Commands::check_logbook);
}

}  // namespace

void describe(CLI::App& app, Options& options, Wanted& wanted) {
    Grammar{app, options, wanted}.describe();
}

}  // namespace nightferry::command
