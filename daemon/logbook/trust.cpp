#include "daemon/logbook/trust.hpp"

#include <sqlite3.h>

#include <cerrno>

#include "daemon/logbook/failures.hpp"

namespace nightferry::logbook {

namespace {

bool may(const std::filesystem::path& file, int what) {
    sqlite3_vfs* layer = sqlite3_vfs_find(nullptr);
    int answer = 0;
    return layer->xAccess(layer, file.c_str(), what, &answer) == SQLITE_OK && answer != 0;
}

}  // namespace

Error Trust::error_from(int code, int system) {
    if (lost_) return *lost_;
    if (const auto cause = hidden_cause(code, system)) return *cause;
    Error error = error_from_sqlite(code, system);
    if (leaves_doubt(code, system)) {
        lost_ = error;
        // Where no mark can be left, the disk takes nothing more anyway.
        (void)leave_mark(files_, Beside(file_).in_doubt);
    }
    return error;
}

// A file that SQLite cannot open for writing, for whatever reason, it opens for reading instead, and what it
// reports comes of that: a file that was to be made is missing, and one that is there is read-only.
std::optional<Error> Trust::hidden_cause(int code, int system) const {
    if ((code & 0xFF) == SQLITE_CANTOPEN && system == ENOENT) return why_no_file_was_made();
    if ((code & 0xFF) != SQLITE_READONLY || code == SQLITE_READONLY_DIRECTORY || !may_be_written()) return {};
    return Error{Errc::storage,
                 "the logbook's disk failed: a file that may be written could only be opened for reading"};
}

Error Trust::why_no_file_was_made() const {
    const std::filesystem::path trial = file_.string() + ".trial";
    if (const auto made = files_.create(trial); !made) return made.error();
    (void)files_.remove(trial);
    return {Errc::storage, "the logbook's disk failed: a file could not be made"};
}

// By the rights and the disk of the files that are there.
bool Trust::may_be_written() const {
    const std::filesystem::path wal = Beside(file_).wal;
    return may(file_, SQLITE_ACCESS_READWRITE) &&
           (!may(wal, SQLITE_ACCESS_EXISTS) || may(wal, SQLITE_ACCESS_READWRITE));
}

}  // namespace nightferry::logbook
