#include "daemon/logbook/files.hpp"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>

#include "daemon/core/descriptor.hpp"
#include "daemon/logbook/failures.hpp"

namespace nightferry::logbook {

namespace fs = std::filesystem;

namespace {

class FolderHold final : public Files::Hold {
 public:
    explicit FolderHold(Descriptor folder) : folder_(std::move(folder)) {}

 private:
    Descriptor folder_;
};

Result<void> sync_open(const fs::path& path, int flags) {
    const Descriptor opened(::open(path.c_str(), flags | O_CLOEXEC, 0666));
    if (!opened.is_open() || ::fsync(opened.number()) != 0) return error_from_system(errno);
    return {};
}

Instant modified(const struct stat& facts) {
    return Instant{std::chrono::seconds{facts.st_mtim.tv_sec}};
}

class SystemFiles final : public Files {
 public:
    // The folder itself is locked rather than a file in it: nothing is left lying about, and no rename can
    // take the lock away from under a process that is just opening.
    Result<std::unique_ptr<Hold>> hold(const fs::path& folder) override {
        Descriptor opened(::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
        if (!opened.is_open()) return error_from_system(errno);
        if (::flock(opened.number(), LOCK_EX | LOCK_NB) != 0)
            return errno == EWOULDBLOCK ? held_elsewhere() : no_local_disk();
        return std::unique_ptr<Hold>(std::make_unique<FolderHold>(std::move(opened)));
    }
    Result<std::optional<std::uint64_t>> size(const fs::path& file) override {
        struct stat facts {};
        if (::stat(file.c_str(), &facts) == 0)
            return std::optional<std::uint64_t>(static_cast<std::uint64_t>(facts.st_size));
        if (errno == ENOENT) return std::optional<std::uint64_t>();
        return error_from_system(errno);
    }
    Result<std::vector<Found>> list(const fs::path& folder) override {
        std::vector<Found> found;
        std::error_code failure;
        for (fs::directory_iterator item(folder, failure), end; !failure && item != end;
             item.increment(failure)) {
            struct stat facts {};
            if (::stat(item->path().c_str(), &facts) == 0 && S_ISREG(facts.st_mode))
                found.push_back({item->path(), modified(facts)});
        }
        if (failure) return error_from_system(failure.value());
        std::sort(found.begin(), found.end(), [](const Found& a, const Found& b) { return a.file < b.file; });
        return found;
    }
    Result<void> create(const fs::path& file) override { return sync_open(file, O_WRONLY | O_CREAT); }
    Result<void> rename(const fs::path& from, const fs::path& to) override {
        if (::rename(from.c_str(), to.c_str()) != 0) return error_from_system(errno);
        return {};
    }
    Result<void> remove(const fs::path& file) override {
        if (::unlink(file.c_str()) != 0 && errno != ENOENT) return error_from_system(errno);
        return {};
    }
    Result<void> copy_rights(const fs::path& from, const fs::path& to) override {
        struct stat facts {};
        if (::stat(from.c_str(), &facts) != 0) return error_from_system(errno);
        // Only root may give a file away, and then it has to stay the daemon's.
        if (::geteuid() == 0 && ::chown(to.c_str(), facts.st_uid, facts.st_gid) != 0)
            return error_from_system(errno);
        if (::chmod(to.c_str(), facts.st_mode & 07777) != 0) return error_from_system(errno);
        return {};
    }
    Result<void> sync(const fs::path& file) override { return sync_open(file, O_RDONLY); }
    Result<void> sync_folder(const fs::path& folder) override {
        return sync_open(folder, O_RDONLY | O_DIRECTORY);
    }
};

fs::path with(const fs::path& file, const char* ending) {
    return file.string() + ending;
}

}  // namespace

Files& system_files() {
    static SystemFiles files;
    return files;
}

Result<void> leave_mark(Files& files, const fs::path& mark) {
    const auto made = files.create(mark);
    if (!made) return made.error();
    return files.sync_folder(mark.parent_path());
}

Result<void> remove_for_good(Files& files, const std::vector<fs::path>& paths) {
    for (const fs::path& path : paths) {
        const auto removed = files.remove(path);
        if (!removed) return removed.error();
    }
    return files.sync_folder(paths.at(0).parent_path());
}

Beside::Beside(const fs::path& logbook)
    : folder(logbook.has_parent_path() ? logbook.parent_path() : fs::path(".")),
      wal(with(logbook, "-wal")),
      leftovers{with(logbook, "-wal"), with(logbook, "-shm"), with(logbook, "-journal")},
      in_doubt(with(logbook, ".in-doubt")),
      closed(with(logbook, ".closed")),
      rewriting(with(logbook, ".rewriting")),
      rewritten(with(logbook, ".rewritten")) {}

}  // namespace nightferry::logbook
