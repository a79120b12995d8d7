#include "daemon/intake/inbox.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <fstream>

#include "daemon/core/words.hpp"

namespace nightferry::intake {

namespace {

constexpr std::chrono::seconds quiet_time{2};
constexpr off_t file_bytes_max = 4 * 1024 * 1024;

class OpenFile {
 public:
    explicit OpenFile(const std::filesystem::path& path)
        : descriptor_(::open(path.c_str(), O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC)),
          failure_(descriptor_ < 0 ? errno : 0) {}
    OpenFile(const OpenFile&) = delete;
    OpenFile& operator=(const OpenFile&) = delete;
    ~OpenFile() {
        if (descriptor_ >= 0) ::close(descriptor_);
    }
    bool good() const { return descriptor_ >= 0; }
    bool is_gone() const { return failure_ == ENOENT; }
    bool was_not_permitted() const { return failure_ == EACCES || failure_ == EPERM; }
    struct stat status() const {
        struct stat status {};
        ::fstat(descriptor_, &status);
        return status;
    }
    // The kernel grants a read lease only while nobody has the file open for writing. Without the right to
    // ask (the file is another user's), the answer is no, and the quiet time has to do.
    bool has_a_writer() const {
        if (::fcntl(descriptor_, F_SETLEASE, F_RDLCK) == 0) {
            ::fcntl(descriptor_, F_SETLEASE, F_UNLCK);
            return false;
        }
        return errno == EAGAIN;
    }
    bool read_all(std::string& into) const {
        char chunk[65536];
        while (true) {
            const ssize_t count = ::read(descriptor_, chunk, sizeof chunk);
            if (count < 0 && errno == EINTR) continue;
            if (count <= 0) return count == 0;
            into.append(chunk, static_cast<std::size_t>(count));
            if (into.size() > static_cast<std::size_t>(file_bytes_max)) return false;
        }
    }

 private:
    int descriptor_;
    int failure_;
};

Instant changed_at(const struct stat& status) {
    return Instant{std::chrono::seconds{status.st_mtim.tv_sec} +
                   std::chrono::microseconds{status.st_mtim.tv_nsec / 1000}};
}

// NAME, or NAME with a number before its ending when that is taken.
std::filesystem::path free_place(const std::filesystem::path& folder, const std::string& name) {
    const std::filesystem::path plain(name);
    std::filesystem::path place = folder / plain;
    for (int number = 2; std::filesystem::exists(std::filesystem::symlink_status(place)); ++number) {
        place = folder / (plain.stem().string() + "-" + std::to_string(number) + plain.extension().string());
    }
    return place;
}

}  // namespace

bool is_unfinished_name(std::string_view name) {
    if (name.starts_with('.') || name.starts_with("~$") || name.ends_with('~')) return true;
    for (const std::string_view ending : {".tmp", ".part", ".partial", ".swp", ".crdownload"}) {
        if (name.ends_with(ending)) return true;
    }
    return false;
}

std::string reason_text(std::string_view name, const Answers& answers) {
    std::string text = std::string(name) + "\n\n";
    if (answers.failure) {
        text += "Nothing in this file was recorded, because it could not be read:\n  ";
        if (!answers.failure->where.empty()) text += answers.failure->where + ": ";
        return text + answers.failure->what + "\n\nCorrect it and put it into the inbox again.\n";
    }
    const std::size_t good =
        answers.count(Answer::Kind::accepted) + answers.count(Answer::Kind::already_there);
    const std::size_t bad = answers.answers.size() - good;
    text += std::to_string(good) + " of " + counted(answers.answers.size(), "entry", "entries") +
            " in this file are in the logbook; " + counted(bad, "entry is", "entries are") + " not:\n\n";
    for (const Answer& answer : answers.answers) {
        for (const entry::Problem& problem : answer.problems) {
            text +=
                "  " + (problem.where.empty() ? answer.where : problem.where) + ": " + problem.what + "\n";
        }
    }
    return text +
           "\nCorrect these and put the file into the inbox again; what is in the logbook is recognised and "
           "stays as it is.\n";
}

Result<Inbox> Inbox::open(std::filesystem::path folder, Desk& desk, Clock& clock, Log& log) {
    std::error_code failure;
    for (const std::filesystem::path& one : {folder, folder / "done", folder / "refused"}) {
        std::filesystem::create_directories(one, failure);
        if (failure)
            return Error{Errc::setup, "the folder " + one.string() + " cannot be made: " + failure.message()};
    }
    return Inbox(std::move(folder), desk, clock, log);
}

Result<Inbox::Sweep> Inbox::sweep(const std::set<std::string>& closed) {
    std::vector<std::string> names;
    std::error_code failure;
    for (const auto& item : std::filesystem::directory_iterator(folder_, failure)) {
        const std::string name = item.path().filename().string();
        std::error_code ignored;
        const bool folder = std::filesystem::is_directory(item.symlink_status(ignored));
        if (!folder && !is_unfinished_name(name)) names.push_back(name);
    }
    if (failure) {
        log_->event(Level::error, "inbox_unreadable", {{"reason", failure.message()}});
        return Sweep{0, true};
    }
    // By name, so that files that belong together are taken in the order a family numbers them.
    std::sort(names.begin(), names.end());
    Sweep sweep;
    for (const std::string& name : names) {
        const auto outcome = take(name, closed.contains(name));
        if (!outcome) return outcome.error();
        sweep.taken += *outcome == Outcome::taken ? 1 : 0;
        sweep.look_again = sweep.look_again || *outcome == Outcome::later;
    }
    return sweep;
}

Result<Inbox::Outcome> Inbox::take(const std::string& name, bool known_closed) {
    std::string bytes;
    {
        const OpenFile file(folder_ / name);
        if (file.is_gone()) return Outcome::taken;
        if (file.was_not_permitted()) {
            refuse(name, "this file cannot be read; the hub's user needs the right to read it");
            return Outcome::taken;
        }
        const struct stat status = file.good() ? file.status() : (struct stat){};
        if (!file.good() || !S_ISREG(status.st_mode)) {
            refuse(name, "this is no plain file; links and devices are not followed");
            return Outcome::taken;
        }
        if (file.has_a_writer()) return Outcome::later;
        if (!known_closed && changed_at(status) > clock_->now() - quiet_time) return Outcome::later;
        if (status.st_size > file_bytes_max || !file.read_all(bytes)) {
            refuse(name,
                   "this file is larger than 4 MiB or could not be read to its end; hand it in in smaller "
                   "pieces");
            return Outcome::taken;
        }
    }
    const auto format = entry::format_of_file(name);
    if (!format) {
        refuse(name, "the ending of this file's name is not known; expected .json, .ndjson or .csv");
        return Outcome::taken;
    }
    const auto answers = desk_->hand_in(bytes, *format, "inbox");
    if (!answers && answers.error().code == Errc::disk_full) {
        log_->event(Level::error, "disk_full", {{"what", "inbox"}});
        return Outcome::later;
    }
    if (!answers) return answers.error();
    log_->event(answers->all_good() ? Level::info : Level::warning, "file_taken",
                {{"accepted", std::to_string(answers->count(Answer::Kind::accepted))},
                 {"already_there", std::to_string(answers->count(Answer::Kind::already_there))},
                 {"conflicts", std::to_string(answers->count(Answer::Kind::conflict))},
                 {"refused", std::to_string(answers->count(Answer::Kind::refused))}});
    put_away(name, answers->all_good() ? "done" : "refused",
             answers->all_good() ? std::string() : reason_text(name, *answers));
    return Outcome::taken;
}

void Inbox::refuse(const std::string& name, const std::string& why) {
    log_->event(Level::warning, "file_refused");
    Answers answers;
    answers.failure = entry::Problem{{}, why};
    put_away(name, "refused", reason_text(name, answers));
}

void Inbox::put_away(const std::string& name, const std::string& subfolder, const std::string& reason) {
    const std::filesystem::path place = free_place(folder_ / subfolder, name);
    if (!reason.empty()) {
        std::ofstream note(place.string() + ".reason.txt", std::ios::binary | std::ios::trunc);
        note << reason;
    }
    std::error_code failure;
    std::filesystem::rename(folder_ / name, place, failure);
    if (failure) log_->event(Level::error, "file_cannot_be_moved", {{"reason", failure.message()}});
}

}  // namespace nightferry::intake
