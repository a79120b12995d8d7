#include "daemon/intake/inbox.hpp"

#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <fstream>

#include "daemon/core/folders.hpp"
#include "daemon/core/overloaded.hpp"
#include "daemon/core/words.hpp"
#include "daemon/intake/inbox_file.hpp"

namespace nightferry::intake {

namespace {

// A writer is soon done.
constexpr std::chrono::seconds soon{1};
// A person has to make room, or to bring the folder back.
constexpr std::chrono::seconds after_repair{60};

}  // namespace

bool is_unfinished_name(std::string_view name) {
    if (name.starts_with('.') || name.starts_with("~$") || name.ends_with('~')) return true;
    for (const std::string_view ending : {".tmp", ".part", ".partial", ".swp", ".crdownload"}) {
        if (name.ends_with(ending)) return true;
    }
    return false;
}

std::string reason_text(std::string_view name, const Answers& answers) {
    std::string text = in_quotes(name) + "\n\n";
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
    text += without_effect(answers);
    return text +
           "\nCorrect these and put the file into the inbox again; what is in the logbook is recognised and "
           "stays "
           "as it is.\n";
}

std::string without_effect(const Answers& answers) {
    std::string text;
    for (const Answer& answer : answers.answers) {
        if (answer.is_retracted)
            text += "  " + answer.where + ": it is in the logbook, but was retracted since\n";
        if (!answer.is_in_effect) {
            text += "  " + answer.where +
                    ": it was kept, but a revision recorded later is already there and stays in effect\n";
        }
    }
    return text.empty() ? text : "\nWithout effect:\n\n" + text;
}

std::string Inbox::trouble_with(const std::filesystem::path& folder) {
    for (const auto& one : {folder, folder / "done", folder / "refused"}) {
        // The two inside are made again when something is put there.
        const bool is_missing = ::access(one.c_str(), F_OK) != 0 && errno == ENOENT && one != folder;
        if (!is_missing && ::access(one.c_str(), R_OK | W_OK | X_OK) != 0)
            return (one == folder ? "" : one.filename().string() + ": ") + std::strerror(errno);
    }
    return {};
}

Result<Inbox> Inbox::open(std::filesystem::path folder, Desk& desk, Clock& clock, Log& log) {
    ignore_lease_signals();
    // The hub's group drops files into the inbox and reads what became of them.
    using std::filesystem::perms;
    const perms rights = perms::owner_all | perms::group_read | perms::group_exec;
    for (const auto& [one, allowed] :
         {std::pair{folder, rights | perms::group_write}, std::pair{folder / "done", rights},
          std::pair{folder / "refused", rights}}) {
        if (const auto failure = make_folder(one, allowed))
            return Error{Errc::setup, "the folder " + one.string() + " cannot be made: " + failure.message()};
        if (::access(one.c_str(), R_OK | W_OK | X_OK) != 0) {
            return Error{Errc::setup, "the folder " + one.string() +
                                          " cannot be used: " + std::strerror(errno) +
                                          "; give it to the user and group that nightferryd runs as"};
        }
    }
    return Inbox(std::move(folder), desk, clock, log);
}

Result<Inbox::Sweep> Inbox::sweep(const std::set<std::string>& closed) {
    std::vector<std::string> names;
    std::error_code failure;
    // A range-based loop would throw where the folder cannot be read to its end.
    std::filesystem::directory_iterator item(folder_, failure);
    for (; !failure && item != std::filesystem::directory_iterator(); item.increment(failure)) {
        const std::string name = item->path().filename().string();
        std::error_code ignored;
        const bool folder = std::filesystem::is_directory(item->symlink_status(ignored));
        if (!folder && !is_unfinished_name(name)) names.push_back(name);
    }
    if (failure) {
        log_->event(LogEvent::inbox_unreadable, {{"reason", failure.message()}});
        return Sweep{0, after_repair};
    }
    // By name, so that files that belong together are taken in the order a family numbers them.
    std::sort(names.begin(), names.end());
    constexpr std::size_t taken_max = 32;
    Sweep sweep;
    for (const std::string& name : names) {
        if (sweep.taken >= taken_max) {
            sweep.look_again = std::chrono::seconds{0};
            sweep.has_more = true;
            break;
        }
        const auto outcome = take(name, closed.contains(name));
        if (!outcome) return outcome.error();
        sweep.taken += *outcome == Outcome::taken ? 1 : 0;
        // What comes behind it by name may amend what is in it.
        if (*outcome == Outcome::later || *outcome == Outcome::no_room) {
            sweep.waits_for_room = *outcome == Outcome::no_room;
            sweep.look_again = sweep.waits_for_room ? after_repair : soon;
            break;
        }
    }
    std::erase_if(stuck_, [&](const auto& one) { return !std::ranges::binary_search(names, one.first); });
    return sweep;
}

Result<Inbox::Outcome> Inbox::take(const std::string& name, bool known_closed) {
    using Taken = Result<Outcome>;
    if (const auto stuck = stuck_.find(name); stuck != stuck_.end()) {
        if (mark_of(folder_ / name) == stuck->second.mark)
            return put_away(name, stuck->second.mark, stuck->second.way);
        stuck_.erase(stuck);
    }
    return std::visit(Overloaded{
                          [&](const Content& content) -> Taken { return hand_in(name, content); },
                          [&](const Gone&) -> Taken { return Outcome::passed_over; },
                          [&](const NotYet&) -> Taken { return Outcome::later; },
                          [&](const PassedOver&) -> Taken { return Outcome::passed_over; },
                          [&](const Unusable& file) -> Taken { return refuse(name, file.why); },
                      },
                      read_inbox_file(folder_ / name, clock_->now(), known_closed));
}

Result<Inbox::Outcome> Inbox::hand_in(const std::string& name, const Content& content) {
    const auto format = entry::format_of_file(name);
    if (!format) {
        return refuse(
            name,
            "the ending of this file's name is not known; expected .json, .ndjson, .jsonl or .csv (a "
            "spreadsheet is saved as 'CSV UTF-8')");
    }
    const auto answers = desk_->hand_in(content.bytes, *format, "inbox");
    if (!answers && answers.error().code == Errc::disk_full) {
        log_->event(LogEvent::disk_full, {{"what", "inbox"}});
        return Outcome::no_room;
    }
    if (!answers) return answers.error();
    const bool good = answers->all_good();
    tell(*answers);
    // Somebody put another file in its place, or added to it: what lies there now was not read.
    if (mark_of(folder_ / name) != content.mark) return Outcome::later;
    if (!good) return put_away(name, content.mark, {"refused", ".reason.txt", reason_text(name, *answers)});
    const std::string note = without_effect(*answers);
    return put_away(name, content.mark,
                    {"done", ".note.txt", note.empty() ? note : in_quotes(name) + "\n" + note});
}

void Inbox::tell(const Answers& answers) {
    const auto number = [&](Answer::Kind kind) { return std::to_string(answers.count(kind)); };
    if (answers.all_good()) {
        log_->event(LogEvent::file_taken, {{"accepted", number(Answer::Kind::accepted)},
                                           {"already_there", number(Answer::Kind::already_there)}});
    } else if (answers.failure) {
        log_->event(LogEvent::file_refused);
    } else {
        log_->event(LogEvent::file_taken_in_part, {{"accepted", number(Answer::Kind::accepted)},
                                                   {"already_there", number(Answer::Kind::already_there)},
                                                   {"conflicts", number(Answer::Kind::conflict)},
                                                   {"refused", number(Answer::Kind::refused)}});
    }
}

Inbox::Outcome Inbox::refuse(const std::string& name, const std::string& why) {
    log_->event(LogEvent::file_refused);
    Answers answers;
    answers.failure = entry::Problem{{}, why};
    return put_away(name, mark_of(folder_ / name), {"refused", ".reason.txt", reason_text(name, answers)});
}

Inbox::Outcome Inbox::put_away(const std::string& name, const FileMark& mark, Way way) {
    if (move(name, way)) {
        stuck_.erase(name);
        return Outcome::taken;
    }
    // What does not fit is handed in again, which finds what was taken already there.
    constexpr std::size_t stuck_max = 1000;
    constexpr std::size_t text_bytes_max = 64 * 1024;
    if (stuck_.size() < stuck_max && way.text.size() <= text_bytes_max)
        stuck_.insert_or_assign(name, Stuck{mark, std::move(way)});
    return Outcome::passed_over;
}

bool Inbox::move(const std::string& name, const Way& way) {
    std::error_code failure;
    std::filesystem::create_directories(folder_ / way.subfolder, failure);
    const std::filesystem::path place = free_place(folder_ / way.subfolder, name);
    if (!way.text.empty()) {
        std::ofstream note(place.string() + way.ending, std::ios::binary | std::ios::trunc);
        note << way.text;
        note.close();
        if (!note) {
            // Without its reason a refused file would be refused in silence; it stays where it is.
            log_->event(LogEvent::reason_cannot_be_written);
            return false;
        }
    }
    std::filesystem::rename(folder_ / name, place, failure);
    if (failure) log_->event(LogEvent::file_cannot_be_moved, {{"reason", failure.message()}});
    return !failure;
}

}  // namespace nightferry::intake
