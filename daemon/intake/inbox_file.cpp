#include "daemon/intake/inbox_file.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <chrono>
#include <csignal>

namespace nightferry::intake {

namespace {

constexpr std::chrono::seconds quiet_time{2};
constexpr std::chrono::seconds patience_with_a_writer{60};
constexpr std::size_t file_bytes_max = 4 * 1024 * 1024;
constexpr std::size_t name_bytes_max = 255;  // NAME_MAX of Linux file systems.
constexpr std::string_view disk_failed =
    "this file could not be read to its end; copy it into the inbox again";

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

    int failure() const { return failure_; }
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
    // False when reading fails; stops just behind the limit.
    bool read_all(std::string& into) const {
        char chunk[65536];
        while (into.size() <= file_bytes_max) {
            const ssize_t count = ::read(descriptor_, chunk, sizeof chunk);
            if (count < 0 && errno == EINTR) continue;
            if (count <= 0) return count == 0;
            into.append(chunk, static_cast<std::size_t>(count));
        }
        return true;
    }

 private:
    int descriptor_;
    int failure_;
};

FileMark mark_from(const struct stat& status) {
    return {status.st_dev, status.st_ino, status.st_size,
            status.st_mtim.tv_sec * 1'000'000'000LL + status.st_mtim.tv_nsec};
}

// How far the file's last change lies from now, either way: clocks differ, and a hub's may be wrong at boot.
std::chrono::microseconds quiet_for(const struct stat& status, Instant now) {
    const Instant changed{std::chrono::seconds{status.st_mtim.tv_sec} +
                          std::chrono::microseconds{status.st_mtim.tv_nsec / 1000}};
    return now > changed ? now - changed : changed - now;
}

FileContent content_of(const OpenFile& file, Instant now, bool known_closed) {
    const struct stat status = file.status();
    if (!S_ISREG(status.st_mode))
        return Unusable{"this is no plain file; links and devices are not followed"};
    const auto quiet = quiet_for(status, now);
    if (file.has_a_writer()) {
        if (quiet > patience_with_a_writer) return PassedOver{};
        return NotYet{};
    }
    if (!known_closed && quiet < quiet_time) return NotYet{};
    std::string bytes;
    if (!file.read_all(bytes)) return Unusable{std::string(disk_failed)};
    if (bytes.size() > file_bytes_max)
        return Unusable{"this file is larger than 4 MiB; hand it in in smaller pieces"};
    return Content{std::move(bytes), mark_from(status)};
}

}  // namespace

FileContent read_inbox_file(const std::filesystem::path& file, Instant now, bool known_closed) {
    std::error_code failure;
    const auto kind = std::filesystem::symlink_status(file, failure).type();
    if (kind == std::filesystem::file_type::not_found) return Gone{};
    if (kind != std::filesystem::file_type::regular) {
        return Unusable{"this is no plain file; links and devices are not followed"};
    }
    const OpenFile open_file(file);
    switch (open_file.failure()) {
        case 0:
            return content_of(open_file, now, known_closed);
        case ENOENT:
            return Gone{};
        case EACCES:
        case EPERM:
            return Unusable{"this file cannot be read; the hub's user needs the right to read it"};
        case ELOOP:
            return Unusable{"this is no plain file; links and devices are not followed"};
        case EIO:
            return Unusable{std::string(disk_failed)};
        case EMFILE:
        case ENFILE:
        case ENOMEM:
        case EINTR:
            // Soon over, and what comes behind it by name may amend what is in it.
            return NotYet{};
        default:
            return PassedOver{};
    }
}

FileMark mark_of(const std::filesystem::path& file) {
    struct stat status {};
    return ::lstat(file.c_str(), &status) == 0 ? mark_from(status) : FileMark{};
}

std::filesystem::path free_place(const std::filesystem::path& folder, const std::string& name) {
    constexpr std::size_t reserve = 24;  // For "-NNNN" and ".reason.txt".
    const std::filesystem::path plain(name);
    std::string stem = plain.stem().string();
    std::string ending = plain.extension().string();
    if (ending.size() > reserve) ending.resize(reserve);
    if (stem.size() + ending.size() + reserve > name_bytes_max)
        stem.resize(name_bytes_max - reserve - ending.size());
    std::filesystem::path place = folder / (stem + ending);
    std::error_code ignored;
    for (int number = 2; std::filesystem::exists(std::filesystem::symlink_status(place, ignored)); ++number) {
        place = folder / (stem + "-" + std::to_string(number) + ending);
    }
    return place;
}

void ignore_lease_signals() {
    std::signal(SIGIO, SIG_IGN);
}

}  // namespace nightferry::intake
