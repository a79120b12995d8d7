#include "daemon/logbook/restoring.hpp"

#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <fstream>

#include "daemon/core/new_file.hpp"
#include "daemon/logbook/copied.hpp"
#include "daemon/logbook/erasing.hpp"
#include "daemon/logbook/failures.hpp"
#include "daemon/logbook/moving.hpp"
#include "daemon/logbook/schema.hpp"

namespace nightferry::logbook {

namespace {

namespace fs = std::filesystem;

Result<void> copy_bytes(const fs::path& backup, NewFile& into) {
    std::ifstream from(backup, std::ios::binary);
    std::string bytes(1 << 20, '\0');
    while (from) {
        from.read(bytes.data(), static_cast<std::streamsize>(bytes.size()));
        const auto written =
            into.write(std::string_view(bytes).substr(0, static_cast<std::size_t>(from.gcount())));
        if (!written) return written;
    }
    if (!from.eof()) return Error{Errc::storage, backup.string() + " could not be read to its end"};
    return into.sync();
}

// Only root may give a file away, and then it has to be the daemon's.
Result<void> give_to_owner_of(const fs::path& folder, const fs::path& file) {
    struct stat facts {};
    if (::geteuid() != 0 || ::stat(folder.c_str(), &facts) != 0) return {};
    if (::lchown(file.c_str(), facts.st_uid, facts.st_gid) != 0) return error_from_system(errno);
    return {};
}

Result<Checkup> sound(const fs::path& file, const fs::path& named) {
    auto checkup = check_up(file);
    if (!checkup || checkup->is_sound()) return checkup;
    return Error{Errc::corrupt, named.string() + " is not sound: " + checkup->faults.front()};
}

// A logbook that was moved aside while it was being written anew: what it holds is there twice, and the other
// is whole.
Result<void> refuse_if_written_anew(const fs::path& backup, Files& files) {
    const fs::path rewritten = Beside(backup).rewritten;
    const auto size = files.size(rewritten);
    if (!size) return size.error();
    if (!*size) return {};
    return Error{Errc::corrupt,
                 backup.string() + " was being written anew; restore " + rewritten.string() + " instead"};
}

Result<bool> has_wal(const fs::path& backup, Files& files) {
    const auto size = files.size(Beside(backup).wal);
    if (!size) return size.error();
    return size->value_or(0) > 0;
}

// A logbook that was moved aside after a crash comes with its WAL. One that a process uses must not be
// copied.
Result<std::unique_ptr<Files::Hold>> hold_folder_of(const fs::path& backup, const fs::path& held,
                                                    Files& files) {
    const fs::path folder = Beside(backup).folder;
    std::error_code unseen;
    if (fs::equivalent(folder, held, unseen)) return std::unique_ptr<Files::Hold>();
    auto hold = files.hold(folder);
    if (hold || hold.error().code != Errc::locked) return hold ? std::move(*hold) : nullptr;
    return Error{Errc::locked, backup.string() + " is a logbook in use; make a backup of it"};
}

Result<void> copy_file(const fs::path& from, const fs::path& to, const fs::path& folder) {
    auto copy = NewFile::begin(to);
    if (!copy) return copy.error();
    if (const auto copied = copy_bytes(from, *copy); !copied) return copied;
    if (const auto given = give_to_owner_of(folder, copy->part()); !given) return given;
    return copy->settle();
}

// A backup without a mark is as old as its newest entry, or else as the file.
Result<Instant> time_of(Database& copy, const fs::path& backup, Instant now) {
    const auto newest = newest_accepted(copy);
    if (!newest) return newest.error();
    if (*newest) return **newest;
    struct stat facts {};
    if (::stat(backup.c_str(), &facts) != 0) return now;
    return Instant{std::chrono::seconds{facts.st_mtim.tv_sec}};
}

// What is in its WAL is in the file when this returns, with the mark of a copy, on disk.
Result<void> fold_and_mark(const fs::path& copy, const fs::path& backup, std::optional<Instant> lost,
                           Instant now, Files& files) {
    {
        auto db = Database::open(copy, files);
        if (!db) return db.error();
        if (const auto ours = recognise(*db); !ours) return ours;
        const auto time = time_of(*db, backup, now);
        if (!time) return time.error();
        if (const auto marked = mark_as_copy(*db, *time); !marked) return marked;
        // What lies beside it now are not the copies that were to go then.
        if (const auto dropped = drop_begun_erasing(*db); !dropped) return dropped;
        const auto told = lost ? mark_lost_life(*db, *lost) : Result<void>();
        if (!told) return told;
    }
    return files.sync(copy);
}

// What lies there under the name that a backup has until it takes the logbook's place.
class Restoring {
 public:
    Restoring(const fs::path& logbook, Files& files)
        : folder_(Beside(logbook).folder), file_(logbook.string() + ".restoring"), files_(files) {}
    Restoring(const Restoring&) = delete;
    Restoring& operator=(const Restoring&) = delete;
    ~Restoring() { (void)clear(); }

    const fs::path& file() const { return file_; }

    Result<void> clear() {
        for (const char* ending : {".part", "-wal.part"}) {
            if (const auto removed = files_.remove(file_.string() + ending); !removed) return removed;
        }
        return remove_with_journals(file_, files_);
    }

    // On disk, marked and sound, or not there.
    Result<Checkup> fill(const fs::path& backup, bool with_wal, std::optional<Instant> lost, Instant now) {
        if (const auto cleared = clear(); !cleared) return cleared.error();
        const auto log =
            with_wal ? copy_file(Beside(backup).wal, Beside(file_).wal, folder_) : Result<void>();
        if (!log) return log.error();
        if (const auto copied = copy_file(backup, file_, folder_); !copied) return copied.error();
        const auto marked = fold_and_mark(file_, backup, lost, now, files_);
        if (!marked && marked.error().code == Errc::corrupt)
            return Error{Errc::corrupt, backup.string() + " is not sound: " + marked.error().detail};
        if (!marked) return marked.error();
        return sound(file_, backup);
    }

 private:
    fs::path folder_;
    fs::path file_;
    Files& files_;
};

}  // namespace

Result<Restored> restore(const fs::path& backup, const fs::path& file, bool may_move, Instant now,
                         Files& files) {
    if (const auto whole = refuse_if_written_anew(backup, files); !whole) return whole.error();
    const auto with_wal = has_wal(backup, files);
    if (!with_wal) return with_wal.error();
    // With a WAL only the copy can be looked at.
    if (const auto early = *with_wal ? Checkup() : sound(backup, backup); !early) return early.error();
    const Beside beside(file);
    const auto hold = files.hold(beside.folder);
    if (!hold) return hold.error();
    const auto in_the_way = is_logbook_there(file, files);
    if (!in_the_way) return in_the_way.error();
    if (*in_the_way && !may_move)
        return Error{Errc::setup,
                     "a logbook lies at " + file.string() +
                         "; with --move-aside it is kept under another name, and nothing of it is "
                         "lost"};
    const auto aside = find_aside(file, now, files);
    if (!aside) return aside.error();
    const auto lost = last_written(file, *aside, files);
    if (!lost) return lost.error();
    const auto other_hold = *with_wal ? hold_folder_of(backup, beside.folder, files) : nullptr;
    if (!other_hold) return other_hold.error();
    Restoring restoring(file, files);
    const auto checkup = restoring.fill(backup, *with_wal, *lost, now);
    if (!checkup) return checkup.error();
    if (const auto left = leave_mark(files, beside.closed); !left) return left.error();
    if (const auto owned = give_to_owner_of(beside.folder, beside.closed); !owned) return owned.error();
    if (const auto moved = move_aside(file, *aside, files); !moved) return moved.error();
    if (const auto placed = files.rename(restoring.file(), file); !placed) return placed.error();
    if (const auto synced = files.sync_folder(beside.folder); !synced) return synced.error();
    const bool was_there = *in_the_way || aside->has_begun;
    return Restored{*checkup, was_there ? std::optional(aside->file) : std::nullopt};
}

}  // namespace nightferry::logbook
