// The disk as a file layer of SQLite (https://www.sqlite.org/vfs.html). Where it has a choice it does what
// the system's own layer does, so that errors reach SQLite by the same names.
#include <algorithm>
#include <cerrno>
#include <cstring>
#include <new>

#include "tests/sim/disk_state.hpp"

namespace nightferry::sim {

struct Vfs {
    using Handle = Disk::Handle;
    using Outcome = Disk::Outcome;

    static Disk& disk(sqlite3_vfs* vfs) { return *static_cast<Disk*>(vfs->pAppData); }
    // Null when the process that opened it is gone.
    static Handle* live(sqlite3_file* file) {
        auto* handle = reinterpret_cast<Handle*>(file);
        return handle->process == handle->disk->process_ && !handle->disk->is_dead_ ? handle : nullptr;
    }

    static int for_reading(int flags) {
        return (flags & ~(SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE)) | SQLITE_OPEN_READONLY;
    }
    // Notes what the system said about this call.
    static int failed(Handle* handle, int code) {
        if (handle != nullptr) handle->last_errno = handle->disk->errno_;
        return code;
    }
    static int open(sqlite3_vfs* vfs, const char* path, sqlite3_file* file, int flags, int* flags_out) {
        Disk& on = disk(vfs);
        file->pMethods = nullptr;
        if (on.begin(opening) != Outcome::go) {
            // Like the system's own, it tries once more for reading only.
            if ((flags & SQLITE_OPEN_READWRITE) == 0 || on.begin(opening) != Outcome::go)
                return SQLITE_CANTOPEN;
            flags = for_reading(flags);
        }
        auto& names = on.state_->names;
        const std::string name = path == nullptr ? "" : path;
        const bool is_there = names.contains(name);
        const bool creates = !is_there && (path == nullptr || (flags & SQLITE_OPEN_CREATE) != 0);
        if (!is_there && (!creates || on.faults_.read_only)) {
            on.errno_ = creates ? EROFS : ENOENT;
            return SQLITE_CANTOPEN;
        }
        if (on.faults_.read_only && (flags & SQLITE_OPEN_READWRITE) != 0) flags = for_reading(flags);
        const int inode = is_there ? names.at(name) : on.make(name);
        constexpr int journals = SQLITE_OPEN_SUPER_JOURNAL | SQLITE_OPEN_MAIN_JOURNAL | SQLITE_OPEN_WAL;
        auto* handle = new (file) Handle{{&methods},
                                         &on,
                                         path,
                                         inode,
                                         on.process_,
                                         SQLITE_LOCK_NONE,
                                         creates && (flags & journals) != 0,
                                         (flags & SQLITE_OPEN_DELETEONCLOSE) != 0,
                                         0};
        on.handles_.insert(handle);
        if (flags_out != nullptr) *flags_out = flags;
        return SQLITE_OK;
    }
    static int remove(sqlite3_vfs* vfs, const char* path, int syncs_folder) {
        Disk& on = disk(vfs);
        const int failed = on.remove(path);
        if (failed == ENOENT) return SQLITE_IOERR_DELETE_NOENT;
        if (failed != 0) return SQLITE_IOERR_DELETE;
        if (syncs_folder != 0 && on.sync_folder(folder_of(path)) != 0) return SQLITE_IOERR_DIR_FSYNC;
        return SQLITE_OK;
    }
    static int access(sqlite3_vfs* vfs, const char* path, int flags, int* result) {
        Disk& on = disk(vfs);
        if (on.is_dead_) return SQLITE_IOERR_ACCESS;
        const auto size = on.size(path);
        *result = flags == SQLITE_ACCESS_EXISTS ? size && *size > 0 : size && !on.faults_.read_only;
        return SQLITE_OK;
    }
    static int full_path(sqlite3_vfs*, const char* path, int room, char* full) {
        sqlite3_snprintf(room, full, "%s", path);
        return SQLITE_OK;
    }
    static int randomness(sqlite3_vfs* vfs, int count, char* bytes) {
        for (int i = 0; i < count; ++i)
            bytes[i] = static_cast<char>(disk(vfs).dice_.next());
        return count;
    }
    static int now(sqlite3_vfs* vfs, sqlite3_int64* milliseconds) {
        constexpr std::int64_t unix_epoch = 24405875 * std::int64_t{8640000};
        *milliseconds = unix_epoch + disk(vfs).now_.time_since_epoch().count() / 1000;
        return SQLITE_OK;
    }
    static int now_in_days(sqlite3_vfs* vfs, double* days) {
        sqlite3_int64 milliseconds = 0;
        now(vfs, &milliseconds);
        *days = static_cast<double>(milliseconds) / 86400000.0;
        return SQLITE_OK;
    }
    static int last_error(sqlite3_vfs* vfs, int, char*) { return disk(vfs).errno_; }

    static int close(sqlite3_file* file) {
        auto* handle = reinterpret_cast<Handle*>(file);
        Disk& on = *handle->disk;
        if (handle->process != on.process_) return SQLITE_OK;
        on.handles_.erase(handle);
        if (on.is_dead_) return SQLITE_OK;
        if (handle->vanishes && handle->path != nullptr && on.state_->names.contains(handle->path))
            on.unlink(handle->path);
        on.forget_unused();
        return SQLITE_OK;
    }
    static int read(sqlite3_file* file, void* into, int count, sqlite3_int64 offset) {
        Handle* handle = live(file);
        if (handle == nullptr || handle->disk->begin(reading) != Outcome::go)
            return failed(handle, SQLITE_IOERR_CORRUPTFS);
        const std::string& bytes = handle->disk->state_->inodes.at(handle->inode).seen;
        const auto from = std::min(bytes.size(), static_cast<std::size_t>(offset));
        const auto length = std::min(bytes.size() - from, static_cast<std::size_t>(count));
        std::memcpy(into, bytes.data() + from, length);
        if (length == static_cast<std::size_t>(count)) return SQLITE_OK;
        handle->last_errno = 0;
        std::memset(static_cast<char*>(into) + length, 0, static_cast<std::size_t>(count) - length);
        return SQLITE_IOERR_SHORT_READ;
    }
    static int write(sqlite3_file* file, const void* bytes, int count, sqlite3_int64 offset) {
        Handle* handle = live(file);
        if (handle == nullptr) return SQLITE_IOERR_WRITE;
        const int number =
            handle->disk->write(handle->inode, static_cast<const char*>(bytes),
                                static_cast<std::size_t>(count), static_cast<std::uint64_t>(offset));
        if (number == 0) return SQLITE_OK;
        handle->disk->errno_ = number;
        if (number != ENOSPC) return failed(handle, SQLITE_IOERR_WRITE);
        handle->last_errno = 0;
        return SQLITE_FULL;
    }
    static int truncate(sqlite3_file* file, sqlite3_int64 size) {
        Handle* handle = live(file);
        if (handle == nullptr) return SQLITE_IOERR_TRUNCATE;
        if (handle->disk->cut(handle->inode, static_cast<std::uint64_t>(size)) == 0) return SQLITE_OK;
        return failed(handle, SQLITE_IOERR_TRUNCATE);
    }
    static int sync(sqlite3_file* file, int) {
        Handle* handle = live(file);
        if (handle == nullptr || handle->disk->sync_inode(handle->inode) != 0)
            return failed(handle, SQLITE_IOERR_FSYNC);
        if (!handle->syncs_folder) return SQLITE_OK;
        handle->syncs_folder = false;
        if (handle->disk->sync_folder(folder_of(handle->path)) == 0) return SQLITE_OK;
        return failed(handle, SQLITE_IOERR_DIR_FSYNC);
    }
    static int size(sqlite3_file* file, sqlite3_int64* size) {
        Handle* handle = live(file);
        if (handle == nullptr) return SQLITE_IOERR_FSTAT;
        *size = static_cast<sqlite3_int64>(handle->disk->state_->inodes.at(handle->inode).seen.size());
        return SQLITE_OK;
    }

    // The highest lock that another handle has on the same file.
    static int other_lock(const Handle& mine) {
        int highest = SQLITE_LOCK_NONE;
        for (const Handle* other : mine.disk->handles_) {
            if (other != &mine && other->inode == mine.inode) highest = std::max(highest, other->lock);
        }
        return highest;
    }
    static int lock(sqlite3_file* file, int level) {
        Handle* handle = live(file);
        if (handle == nullptr) return SQLITE_IOERR_LOCK;
        if (handle->lock >= level) return SQLITE_OK;
        const int other = other_lock(*handle);
        if (level == SQLITE_LOCK_SHARED && other >= SQLITE_LOCK_PENDING) return SQLITE_BUSY;
        if (level > SQLITE_LOCK_SHARED && other >= SQLITE_LOCK_RESERVED) return SQLITE_BUSY;
        if (level == SQLITE_LOCK_EXCLUSIVE && other >= SQLITE_LOCK_SHARED) {
            handle->lock = SQLITE_LOCK_PENDING;
            return SQLITE_BUSY;
        }
        handle->lock = level;
        return SQLITE_OK;
    }
    static int unlock(sqlite3_file* file, int level) {
        Handle* handle = live(file);
        if (handle != nullptr) handle->lock = std::min(handle->lock, level);
        return SQLITE_OK;
    }
    static int is_reserved(sqlite3_file* file, int* result) {
        Handle* handle = live(file);
        if (handle == nullptr) return SQLITE_IOERR_CHECKRESERVEDLOCK;
        *result = std::max(handle->lock, other_lock(*handle)) >= SQLITE_LOCK_RESERVED;
        return SQLITE_OK;
    }
    static int control(sqlite3_file* file, int what, void* result) {
        Handle* handle = live(file);
        if (what == SQLITE_FCNTL_LAST_ERRNO) {
            // Every call of a process that is dead fails with EIO.
            *static_cast<int*>(result) = handle == nullptr ? EIO : handle->last_errno;
            return SQLITE_OK;
        }
        if (handle == nullptr || what != SQLITE_FCNTL_HAS_MOVED) return SQLITE_NOTFOUND;
        const auto& names = handle->disk->state_->names;
        const auto named = handle->path == nullptr ? names.end() : names.find(handle->path);
        *static_cast<int*>(result) = named == names.end() || named->second != handle->inode;
        return SQLITE_OK;
    }

    static const sqlite3_io_methods methods;
    static std::unique_ptr<sqlite3_vfs> make(Disk& disk);
};

// Version 1: without shared memory, so that WAL needs exclusive locking, as the logbook has it.
const sqlite3_io_methods Vfs::methods = {
    1,
    close,
    read,
    write,
    truncate,
    sync,
    size,
    lock,
    unlock,
    is_reserved,
    control,
    [](sqlite3_file*) { return 4096; },
    [](sqlite3_file*) { return SQLITE_IOCAP_POWERSAFE_OVERWRITE; },
    nullptr,
    nullptr,
    nullptr,
    nullptr,
    nullptr,
    nullptr,
};

std::unique_ptr<sqlite3_vfs> Vfs::make(Disk& disk) {
    auto vfs = std::make_unique<sqlite3_vfs>();
    vfs->iVersion = 2;
    vfs->szOsFile = sizeof(Handle);
    vfs->mxPathname = 512;
    vfs->zName = disk.name();
    vfs->pAppData = &disk;
    vfs->xOpen = open;
    vfs->xDelete = remove;
    vfs->xAccess = access;
    vfs->xFullPathname = full_path;
    vfs->xRandomness = randomness;
    vfs->xSleep = [](sqlite3_vfs*, int microseconds) { return microseconds; };
    vfs->xCurrentTime = now_in_days;
    vfs->xCurrentTimeInt64 = now;
    vfs->xGetLastError = last_error;
    return vfs;
}

Disk::Disk(std::uint64_t seed) : state_(std::make_unique<State>()), dice_(seed) {
    static int made = 0;
    name_ = "simulated-" + std::to_string(++made);
    vfs_ = Vfs::make(*this);
    // The first layer that is registered becomes the default; the system's own has to be that one.
    sqlite3_initialize();
    sqlite3_vfs_register(vfs_.get(), 0);
}

Disk::~Disk() {
    restore_default();
    sqlite3_vfs_unregister(vfs_.get());
}

void Disk::make_default() {
    if (default_before_ == nullptr) default_before_ = sqlite3_vfs_find(nullptr);
    sqlite3_vfs_register(vfs_.get(), 1);
    // SQLite then seeds its own chance anew, from the default layer.
    sqlite3_randomness(0, nullptr);
}

void Disk::restore_default() {
    if (default_before_ == nullptr) return;
    sqlite3_vfs_register(default_before_, 1);
    default_before_ = nullptr;
    sqlite3_randomness(0, nullptr);
}

}  // namespace nightferry::sim
