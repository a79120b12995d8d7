// What each command of nightferry does. Every one returns the program's exit status.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "config/load_settings.hpp"
#include "daemon/command/certificate.hpp"
#include "daemon/command/channel.hpp"
#include "daemon/command/fhir_check.hpp"
#include "daemon/command/keys.hpp"
#include "daemon/command/progress.hpp"
#include "daemon/core/exit_codes.hpp"
#include "daemon/core/new_file.hpp"
#include "daemon/logbook/database.hpp"
#include "daemon/net/system_ports.hpp"
#include "fhir/json/document.hpp"

namespace nightferry::command {

// What was said on the command line.
struct Options {
    std::string settings = "/etc/nightferry/nightferry.toml";
    bool as_json = false;
    std::vector<std::string> files;
    std::string format;
    std::string type;
    std::vector<std::string> fields;
    std::string person;
    std::string from;
    std::string to;
    std::string at;
    bool all = false;
    bool propose = false;
    long limit = 1000;
    std::string id;
    std::string by;
    std::string reason;
    std::string clinic;
    long wait_seconds = 0;
    bool send_test_record = false;
    std::string backup_file;
    bool move_aside = false;
    std::string ndjson;  // Where an export goes.
    std::string fhir;
    std::string html;  // Where a page goes.
    std::string language = "en";
    std::string version;  // Of this program.
    bool yes = false;
    FhirCheck fhir_check;
    std::string release = "R4";
    bool errors_only = false;
    NewKey new_key;
    NewCertificate new_certificate;
    std::string carer;  // Whose phone it is.
    std::string name;
};

// Says on standard error what is wrong and gives the status for it.
int complain(ExitCode code, const std::string& words);
// The same of a file that should have come into being.
int complain_of_new_file(const Error& error);

int check_settings(const std::string& file, bool as_json);
int verify_backup(const std::string& file, bool as_json);

class Commands {
 public:
    // `loaded` has a reach. Those commands that go by more than that need the settings as well.
    Commands(config::Loaded loaded, Options options)
        : settings_(std::move(loaded.settings)),
          reach_(std::move(*loaded.reach)),
          options_(std::move(options)),
          channel_(reach_, settings_ ? &*settings_ : nullptr) {}

    int hand_in();
    int record();
    int amend();
    int retract();
    int list();
    int show();
    int queue();
    int waiting();
    int set_aside();
    int release();
    int settle();
    int pass();
    int report();
    int since_dose();
    int flags();
    int settle_flag();
    int orders();
    int share();
    int back_date();
    int withdrawn();
    int audit();
    int public_keys();
    int check_clinic();
    int backup();
    int restore();
    int check_logbook();
    int export_entries();
    int erase_person();
    int explain();
    int pair();
    int devices();
    int unpair();

 private:
    using Cells = std::vector<std::pair<std::string, std::string>>;
    using Render = std::function<std::string(const fhir::json::Value&)>;

    int hand_in_file(const std::string& file);
    int hand_in_bytes(std::string bytes, const std::string& media_type, const Render& render);
    int hand_in_row(const Cells& cells);
    // The fields given as name=value; nothing, with the mistake reported, when one is not of that form.
    std::optional<Cells> written_fields() const;
    // Full minutes, so that the same command twice in a minute records once.
    std::string minute_now() const;
    // To the microsecond, so that of two revisions the one written last is in effect.
    std::string now() const;
    int get(const std::string& target, const Render& render);
    int post(const std::string& target, const Render& render);
    int finish(const HttpAnswer& answer, const Render& render, ExitCode when_refused = ExitCode::usage);
    void print(const HttpAnswer& answer, const Render& render) const;
    int not_there(const Error& error) const;
    int wait_for_pass();
    Result<void> fetch_copy(NewFile& into);
    // What the daemon answers, page after page, each handed over with the one before it; until a page is
    // empty.
    Result<void> fetch_pages(const std::string& target,
                             const std::function<Result<std::string>(const HttpAnswer&)>& take);
    using Write = std::function<Result<void>(std::string_view)>;
    // How much was written; not_found when there is nothing.
    Result<std::string> export_ndjson(const Write& write);
    Result<std::string> export_fhir(const Write& write);
    using Export = Result<std::string> (Commands::*)(const Write&);
    int export_to(const std::string& file, Export what);
    int export_to_standard_output(Export what);
    int write_page(const HttpAnswer& answer) const;
    // The logbook, for this command only. Errc::locked while a daemon runs.
    Result<std::unique_ptr<logbook::Database>> logbook_alone(Instant now) const;
    bool is_confirmed() const;
    int hand_in_parts(std::string_view lines);
    bool is_meant(const fhir::json::Value& clinic) const;
    // Of the rows of the audit trail.
    bool is_wanted(const fhir::json::Value& row) const;
    bool any_running(const fhir::json::Value& queue) const;
    // How many entries wait for the clinics that are meant.
    long waiting_in(const fhir::json::Value& queue) const;
    std::string clinic_query(char mark) const;

    const std::optional<config::Settings> settings_;
    const config::Reach reach_;
    const Options options_;
    net::SystemClock clock_;
    Channel channel_;
};

}  // namespace nightferry::command
