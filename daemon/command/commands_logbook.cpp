// The commands about the logbook as a whole: backup, restore and check.
#include <charconv>
#include <cstdio>

#include "daemon/command/commands.hpp"
#include "daemon/core/folders.hpp"
#include "daemon/core/words.hpp"
#include "daemon/intake/logbook_json.hpp"
#include "daemon/logbook/opening.hpp"
#include "daemon/logbook/restoring.hpp"
#include "daemon/net/system_ports.hpp"
#include "daemon/report/logbook_text.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/json/writer.hpp"

namespace nightferry::command {

namespace json = fhir::json;

namespace {

constexpr std::uint64_t mebibyte = 1 << 20;

// What is in a file and what is wrong with it, in words or as JSON.
std::string told(const logbook::Checkup& checkup, bool as_json) {
    json::Document document;
    intake::put_checkup(document.root(), checkup);
    return as_json ? json::write(document.root()) + "\n" : report::checkup_text(document.root());
}

ExitCode verdict_on(const logbook::Checkup& checkup) {
    return checkup.is_sound() ? ExitCode::ok : ExitCode::bad_input;
}

// What is no sound backup is input that was refused; only the disk is this machine's fault.
int complain_of_backup(const Error& error) {
    return complain(error.code == Errc::corrupt ? ExitCode::bad_input : exit_code_of(error.code),
                    error.detail);
}

Error no_copy(const HttpAnswer& answer) {
    const Error error = error_in(answer);
    return {error.code, "no copy could be got: " + error.detail};
}

// A copy takes room at the hub until it is let go of.
class CopyAtHub {
 public:
    CopyAtHub(Channel& channel, std::string number)
        : channel_(channel), query_("?copy=" + std::move(number)) {}
    CopyAtHub(const CopyAtHub&) = delete;
    CopyAtHub& operator=(const CopyAtHub&) = delete;
    ~CopyAtHub() { (void)channel_.either({"POST", "/v1/logbook/copy/end" + query_, {}, {}}); }

    Result<HttpAnswer> from(std::uint64_t byte) {
        return channel_.get("/v1/logbook/copy" + query_ + "&from=" + std::to_string(byte));
    }

 private:
    Channel& channel_;
    const std::string query_;
};

}  // namespace

int verify_backup(const std::string& file, bool as_json) {
    const auto checkup = logbook::check_up(std::filesystem::path(file));
    if (!checkup) return complain_of_backup(checkup.error());
    std::fputs(told(*checkup, as_json).c_str(), stdout);
    return as_status(verdict_on(*checkup));
}

// Part by part, so that it costs neither side memory however long the logbook is.
Result<void> Commands::fetch_copy(NewFile& into) {
    Progress progress(clock_, screen_of_this_process());
    progress.tell_now("the daemon makes a copy of the logbook");
    const auto made = channel_.either({"POST", "/v1/logbook/copy", {}, {}});
    if (!made) return made.error();
    const auto document = json::read(made->body);
    if (made->status != 200 || !document) return no_copy(*made);
    const json::Value* number = document->root().find("copy");
    const json::Value* bytes = document->root().find("bytes");
    if (number == nullptr || bytes == nullptr)
        return Error{Errc::setup, "the daemon that runs is of another version than this command; restart it"};
    CopyAtHub copy(channel_, std::string(number->text()));
    const std::string_view told_size = bytes->text();
    std::uint64_t size = 0;
    std::from_chars(told_size.data(), told_size.data() + told_size.size(), size);
    std::uint64_t have = 0;
    while (have < size) {
        const auto part = copy.from(have);
        if (!part) return part.error();
        if (part->status != 200) return no_copy(*part);
        if (part->body.empty()) return Error{Errc::storage, "the copy is shorter than was said"};
        if (const auto written = into.write(part->body); !written) return written;
        have += part->body.size();
        progress.tell(std::to_string(have / mebibyte) + " of " + std::to_string(size / mebibyte) +
                      " MiB fetched");
    }
    return into.sync();
}

int Commands::backup() {
    auto file = NewFile::begin(options_.backup_file);
    if (!file) return complain_of_new_file(file.error());
    const auto fetched = fetch_copy(*file);
    if (!fetched) return not_there(fetched.error());
    const auto checkup = logbook::check_up(file->part());
    if (!checkup) return complain(ExitCode::io, checkup.error().detail);
    std::fputs(told(*checkup, options_.as_json).c_str(), stdout);
    if (!checkup->is_sound())
        return complain(ExitCode::bad_input, "the copy is not sound, so there is no backup " +
                                                 options_.backup_file +
                                                 "; see what nightferry check-logbook says of the logbook");
    if (const auto settled = file->settle(); !settled) return complain_of_new_file(settled.error());
    if (!options_.as_json) std::printf("Written and checked: %s\n", options_.backup_file.c_str());
    return as_status(ExitCode::ok);
}

int Commands::restore() {
    if (const auto failure = make_folder(settings_->data, std::filesystem::perms::owner_all))
        return complain(ExitCode::settings,
                        "the folder " + settings_->data.string() + " cannot be made: " + failure.message());
    if (const auto failure = give_to_owner_above(settings_->data))
        return complain(ExitCode::settings,
                        "the folder " + settings_->data.string() +
                            " cannot be given to the daemon's user: " + failure.message());
    const auto restored = logbook::restore(options_.backup_file, logbook::file_in(settings_->data),
                                           options_.move_aside, net::SystemClock().now());
    if (!restored) return complain_of_backup(restored.error());
    std::fputs(told(restored->checkup, options_.as_json).c_str(), stdout);
    if (!options_.as_json)
        std::fputs(report::restored_text(restored->aside ? restored->aside->string() : "",
                                         settings_->identifier_system)
                       .c_str(),
                   stdout);
    return as_status(ExitCode::ok);
}

int Commands::check_logbook() {
    const auto answer = [this] {
        Progress progress(clock_, screen_of_this_process());
        progress.tell_now("the daemon looks through the logbook");
        return channel_.get("/v1/logbook/check");
    }();
    if (!answer) return not_there(answer.error());
    if (channel_.was_alone()) std::fprintf(stderr, "(the daemon is not running; its logbook was opened)\n");
    const int shown = finish(*answer, report::checkup_text);
    const auto document = json::read(answer->body);
    if (shown != 0 || !document) return shown;
    const json::Value* faults = document->root().find("faults");
    return as_status(faults != nullptr && faults->size() > 0 ? ExitCode::bad_input : ExitCode::ok);
}

}  // namespace nightferry::command
