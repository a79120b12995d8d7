#include "daemon/core/new_file.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <system_error>
#include <utility>

namespace nightferry {

namespace {

Error failed(const std::filesystem::path& file, int number) {
    const bool no_room = number == ENOSPC || number == EDQUOT;
    const bool disk = no_room || number == EIO;
    return {no_room ? Errc::disk_full
            : disk  ? Errc::storage
                    : Errc::setup,
            file.string() + " cannot be written: " + std::generic_category().message(number)};
}

Error is_there(const std::filesystem::path& file) {
    return {Errc::setup, file.string() + " is there already, and is never overwritten; nothing was changed"};
}

// Some file systems (such as those of memory sticks) know no renaming that spares what is there.
int rename_sparing(const std::filesystem::path& from, const std::filesystem::path& to) {
    if (::renameat2(AT_FDCWD, from.c_str(), AT_FDCWD, to.c_str(), RENAME_NOREPLACE) == 0) return 0;
    if (errno != EINVAL && errno != ENOSYS) return errno;
    struct stat facts {};
    if (::lstat(to.c_str(), &facts) == 0) return EEXIST;
    return ::rename(from.c_str(), to.c_str()) == 0 ? 0 : errno;
}

int sync_folder_of(const std::filesystem::path& file) {
    const std::filesystem::path folder = file.has_parent_path() ? file.parent_path() : ".";
    const int opened = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (opened < 0) return errno;
    const int failure = ::fsync(opened) == 0 || errno == EINVAL ? 0 : errno;
    ::close(opened);
    return failure;
}

}  // namespace

NewFile::NewFile(std::filesystem::path file, int descriptor)
    : file_(std::move(file)), part_(file_.string() + ".part"), descriptor_(descriptor) {}

NewFile::NewFile(NewFile&& other) noexcept
    : file_(std::move(other.file_)),
      part_(std::move(other.part_)),
      descriptor_(std::exchange(other.descriptor_, -1)) {}

NewFile::~NewFile() {
    if (descriptor_ < 0) return;
    ::close(descriptor_);
    ::unlink(part_.c_str());
}

Result<NewFile> NewFile::begin(const std::filesystem::path& file) {
    struct stat facts {};
    if (::lstat(file.c_str(), &facts) == 0) return is_there(file);
    NewFile made(file, -1);
    made.descriptor_ = ::open(made.part_.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, S_IRUSR | S_IWUSR);
    if (made.descriptor_ >= 0) return made;
    if (errno == EEXIST)
        return Error{Errc::setup, made.part_.string() +
                                      " is there already, perhaps of an attempt that was cut short; remove "
                                      "it first"};
    return failed(file, errno);
}

Result<void> NewFile::write(std::string_view bytes) {
    while (!bytes.empty()) {
        const ssize_t count = ::write(descriptor_, bytes.data(), bytes.size());
        if (count < 0 && errno == EINTR) continue;
        if (count < 0) return failed(part_, errno);
        bytes.remove_prefix(static_cast<std::size_t>(count));
    }
    return {};
}

Result<void> NewFile::sync() {
    if (::fsync(descriptor_) != 0) return failed(part_, errno);
    return {};
}

Result<void> NewFile::settle() {
    if (const auto synced = sync(); !synced) return synced;
    const int refused = rename_sparing(part_, file_);
    if (refused == EEXIST) return is_there(file_);
    if (refused != 0) return failed(file_, refused);
    ::close(std::exchange(descriptor_, -1));
    const int unsynced = sync_folder_of(file_);
    if (unsynced != 0) return failed(file_, unsynced);
    return {};
}

}  // namespace nightferry
