#include "daemon/logbook/failures.hpp"

#include <sqlite3.h>

#include <cerrno>
#include <system_error>

namespace nightferry::logbook {

namespace {

Error no_room() {
    return {Errc::disk_full, "there is no room on the disk that holds the logbook"};
}

Error read_only() {
    return {
        Errc::setup,
        "the logbook is read-only for this user: either its file or folder belongs to somebody else (see 'ls "
        "-l'), or its disk was mounted read-only, as the system does after a disk error (see 'mount' and "
        "'dmesg'); put that right and start nightferryd again"};
}

bool is_lack_of_room(int number) {
    return number == ENOSPC || number == EDQUOT;
}

// Nothing that a person could put right in the settings: the disk, or too much at once.
bool is_systems_own(int number) {
    return number == EIO || number == EMFILE || number == ENFILE || number == ENOMEM;
}

// SQLite calls a page damaged too when the disk did not give it (SQLITE_IOERR_CORRUPTFS); only this tells.
bool is_failed_read(int number) {
    return number == EIO || number == ENXIO || number == ERANGE;
}

Error disk_failed(const std::string& how, int system) {
    return {Errc::storage, "the logbook's disk failed: " + how +
                               (system == 0 ? "" : " (" + std::generic_category().message(system) + ")")};
}

// SQLite reports ENOSPC as SQLITE_FULL by itself, but a used-up quota as a failed write. A write that found
// no room leaves nothing behind; a sync that found none does.
bool is_refused_write(int code, int system) {
    return code == SQLITE_IOERR_WRITE && is_lack_of_room(system);
}

}  // namespace

Error error_from_sqlite(int code, int system) {
    if (is_refused_write(code, system)) return no_room();
    switch (code & 0xFF) {
        case SQLITE_FULL:
            return no_room();
        case SQLITE_BUSY:
        case SQLITE_LOCKED:
            return held_elsewhere();
        case SQLITE_CORRUPT:
            if (is_failed_read(system)) return disk_failed("a page could not be read", system);
            return {Errc::corrupt,
                    "the logbook file is damaged; keep a copy of it and restore the last backup"};
        case SQLITE_NOTADB:
            return {Errc::corrupt, "the file in the logbook's place is no logbook; it was left as it is"};
        case SQLITE_CANTOPEN:
            if (system == EROFS) return read_only();
            if (is_lack_of_room(system)) return no_room();
            if (is_systems_own(system)) break;
            return {Errc::setup, "the logbook cannot be opened; its folder must exist and be writable"};
        case SQLITE_READONLY:
        case SQLITE_PERM:
            return read_only();
        case SQLITE_IOERR:
            if (system == EROFS) return read_only();
            break;
        case SQLITE_INTERRUPT:
            return {Errc::storage, "work on the logbook was called off; nothing of it was kept"};
        default:
            break;
    }
    return disk_failed(sqlite3_errstr(code), system);
}

Error error_from_system(int number) {
    if (is_lack_of_room(number)) return no_room();
    switch (number) {
        case EROFS:
        case EACCES:
        case EPERM:
            return read_only();
        case ENOENT:
        case ENOTDIR:
            return {Errc::setup, "the logbook cannot be opened; its folder must exist and be writable"};
        default:
            return disk_failed(std::generic_category().message(number), 0);
    }
}

Error held_elsewhere() {
    return {
        Errc::locked,
        "another process holds the logbook: a nightferryd, or a command that works on it alone; stop it, or "
        "try again when it has ended"};
}

Error no_local_disk() {
    return {Errc::setup, "the logbook's folder does not allow durable writes (it has to be a local disk)"};
}

bool leaves_doubt(int code, int system) {
    if ((code & 0xFF) != SQLITE_IOERR || is_refused_write(code, system)) return false;
    switch (code) {
        case SQLITE_IOERR_READ:
        case SQLITE_IOERR_CORRUPTFS:
        case SQLITE_IOERR_SHORT_READ:
        case SQLITE_IOERR_NOMEM:
        case SQLITE_IOERR_ACCESS:
        case SQLITE_IOERR_FSTAT:
        case SQLITE_IOERR_LOCK:
        case SQLITE_IOERR_RDLOCK:
        case SQLITE_IOERR_UNLOCK:
        case SQLITE_IOERR_CHECKRESERVEDLOCK:
            return false;
        default:
            return true;
    }
}

}  // namespace nightferry::logbook
