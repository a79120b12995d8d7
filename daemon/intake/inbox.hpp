// The inbox folder: files dropped there become entries, and then lie in done/ or refused/.
//
// Invariants:
//   (1) A file leaves the inbox only after its good entries are on disk; a crash in between makes us read it
//       again, which finds them already there.
//   (2) A file with any refused entry goes to refused/ with NAME.reason.txt beside it, which says how many of
//       its entries are in the logbook and why each of the others is not.
//   (3) Nothing but regular files is ever opened, links are not followed, and no file is read while somebody
//       has it open for writing.
//   (4) Files are taken in the order of their names, so that a record can come before its amendment.
#pragma once

#include <chrono>
#include <filesystem>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "daemon/core/log.hpp"
#include "daemon/core/result.hpp"
#include "daemon/intake/desk.hpp"
#include "daemon/intake/inbox_file.hpp"

namespace nightferry::intake {

// Names that other programs use while they are still writing: hidden files, and *.tmp, *.part, *.partial,
// *.swp, *~, and lock files of office programs (.~lock…, ~$…).
bool is_unfinished_name(std::string_view name);

// What the person who dropped the file reads beside it.
std::string reason_text(std::string_view name, const Answers& answers);
// Of entries that were taken, those that change nothing; empty when there are none.
std::string without_effect(const Answers& answers);

class Inbox {
 public:
    // Makes the folder and its done/ and refused/ where missing, open to this user's group; Errc::setup when
    // it cannot, or may not write in one that is there.
    static Result<Inbox> open(std::filesystem::path folder, Desk& desk, Clock& clock, Log& log);

    // Why files cannot be read there or put away, in the system's words; empty: they can.
    static std::string trouble_with(const std::filesystem::path& folder);

    struct Sweep {
        std::size_t taken = 0;  // Files that went to done/ or refused/.
        // Look again after so long: at once when it was enough for one time, soon when some file was still
        // being written, later when somebody has to put something right.
        std::optional<std::chrono::seconds> look_again;
        bool has_more = false;        // It was enough for one time.
        bool waits_for_room = false;  // The disk is full.
    };
    // Handles the files that are ready, so many at most that others who share the event loop get their turn.
    // `closed` are names known to be written completely; others count as ready when they have not changed for
    // two seconds. An error means that the logbook's disk failed.
    Result<Sweep> sweep(const std::set<std::string>& closed);

    const std::filesystem::path& folder() const { return folder_; }

 private:
    Inbox(std::filesystem::path folder, Desk& desk, Clock& clock, Log& log)
        : folder_(std::move(folder)), desk_(&desk), clock_(&clock), log_(&log) {}

    enum class Outcome {
        taken,        // It lies in done/ or refused/ now.
        later,        // Not ready; neither are those behind it by name.
        no_room,      // It cannot be stored now; neither can those behind it.
        passed_over,  // It stays where it is; the others go on.
    };
    // Where a file is to go.
    struct Way {
        std::string subfolder;
        std::string ending;  // Of the text beside it.
        std::string text;
    };
    // A file that was handed in and could not be moved.
    struct Stuck {
        FileMark mark;
        Way way;
    };
    Result<Outcome> take(const std::string& name, bool known_closed);
    Result<Outcome> hand_in(const std::string& name, const Content& content);
    void tell(const Answers& answers);
    Outcome refuse(const std::string& name, const std::string& why);
    // Moves the file that was read, with the text in NAME + ending beside it unless that is empty. Where that
    // fails it is remembered, so that it is neither handed in nor told of again before it changes.
    Outcome put_away(const std::string& name, const FileMark& mark, Way way);
    bool move(const std::string& name, const Way& way);

    std::filesystem::path folder_;
    Desk* desk_;
    Clock* clock_;
    Log* log_;
    std::map<std::string, Stuck> stuck_;  // By name.
};

}  // namespace nightferry::intake
