#include "daemon/logbook/restoring.hpp"

#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <fstream>

#include "daemon/core/new_file.hpp"
#include "daemon/core/words.hpp"
#include "daemon/logbook/copied.hpp"
#include "daemon/logbook/failures.hpp"

namespace nightferry::logbook {

namespace {

namespace fs = std::filesystem;

// What makes up a logbook. Its file comes first, so that at no moment a file lies there without its WAL.
constexpr const char* parts[] = {"", ".rewritten", "-wal", "-journal", "-shm", ".rewriting", ".in-doubt"};

Result<bool> is_there(const fs::path& file, Files& files) {
    for (const char* ending : {"", ".rewritten", "-wal", "-journal"}) {
        const auto size = files.size(file.string() + ending);
        if (!size) return size.error();
        if (*size) return true;
    }
    return false;
}

// "20261126T101500Z".
std::string stamp(Instant now) {
    std::string text;
    for (const char c : to_text(std::chrono::floor<std::chrono::seconds>(now))) {
        if (c != '-' && c != ':') text += c;
    }
    return text;
}

Result<fs::path> free_name(const fs::path& file, Instant now, Files& files) {
    const fs::path aside = file.string() + ".aside-" + stamp(now);
    const auto size = files.size(aside);
    if (!size) return size.error();
    if (*size) return Error{Errc::setup, aside.string() + " is there already; try again in a second"};
    return aside;
}

Result<void> move(const fs::path& file, const fs::path& aside, Files& files) {
    for (const char* ending : parts) {
        const auto size = files.size(file.string() + ending);
        if (!size) return size.error();
        if (!*size) continue;
        const auto moved = files.rename(file.string() + ending, aside.string() + ending);
        if (!moved) return moved.error();
    }
    return files.sync_folder(Beside(file).folder);
}

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
    if (::chown(file.c_str(), facts.st_uid, facts.st_gid) != 0) return error_from_system(errno);
    return {};
}

Result<Checkup> sound(const fs::path& file, const fs::path& named) {
    auto checkup = check_up(file);
    if (!checkup || checkup->is_sound()) return checkup;
    return Error{Errc::corrupt, named.string() + " is not sound: " + checkup->faults.front()};
}

// What the file holds is on disk, with the mark of a copy, when this returns.
Result<void> mark(const fs::path& copy, Instant now, Files& files) {
    {
        auto db = Database::open(copy, files);
        if (!db) return db.error();
        const auto marked = mark_as_copy(*db, now);
        if (!marked) return marked;
    }
    return files.sync(copy);
}

}  // namespace

Result<Restored> restore(const fs::path& backup, const fs::path& file, bool move_aside, Instant now,
                         Files& files) {
    const auto checkup = sound(backup, backup);
    if (!checkup) return checkup.error();
    const Beside beside(file);
    const auto hold = files.hold(beside.folder);
    if (!hold) return hold.error();
    const auto in_the_way = is_there(file, files);
    if (!in_the_way) return in_the_way.error();
    if (*in_the_way && !move_aside)
        return Error{Errc::setup,
                     "a logbook lies at " + file.string() +
                         "; with --move-aside it is kept under another name, and nothing of it is "
                         "lost"};
    const auto aside = free_name(file, now, files);
    if (!aside) return aside.error();
    // One that was cut short.
    (void)files.remove(file.string() + ".restoring.part");
    (void)files.remove(file.string() + ".restoring");
    auto copy = NewFile::begin(file.string() + ".restoring");
    if (!copy) return copy.error();
    if (const auto copied = copy_bytes(backup, *copy); !copied) return copied.error();
    if (const auto arrived = sound(copy->part(), copy->part()); !arrived) return arrived.error();
    if (const auto given = give_to_owner_of(beside.folder, copy->part()); !given) return given.error();
    if (const auto settled = copy->settle(); !settled) return settled.error();
    const fs::path restoring = file.string() + ".restoring";
    if (const auto marked = mark(restoring, now, files); !marked) return marked.error();
    if (const auto left = leave_mark(files, beside.closed); !left) return left.error();
    if (const auto owned = give_to_owner_of(beside.folder, beside.closed); !owned) return owned.error();
    if (const auto moved = move(file, *aside, files); !moved) return moved.error();
    if (const auto placed = files.rename(restoring, file); !placed) return placed.error();
    if (const auto synced = files.sync_folder(beside.folder); !synced) return synced.error();
    return Restored{*checkup, *in_the_way ? std::optional(*aside) : std::nullopt};
}

}  // namespace nightferry::logbook
