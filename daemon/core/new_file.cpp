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

std::filesystem::path part_of(const std::filesystem::path& file) {
    return file.string() + ".part";
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
    const Descriptor opened(::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
    if (!opened.is_open()) return errno;
    return ::fsync(opened.number()) == 0 || errno == EINVAL ? 0 : errno;
}

}  // namespace

NewFile::NewFile(std::filesystem::path file, Descriptor opened)
    : file_(std::move(file)), part_(part_of(file_)), opened_(std::move(opened)) {}

NewFile::~NewFile() {
    if (opened_.is_open()) ::unlink(part_.c_str());
}

Result<NewFile> NewFile::begin(const std::filesystem::path& file) {
    struct stat facts {};
    if (::lstat(file.c_str(), &facts) == 0) return is_there(file);
    const std::filesystem::path part = part_of(file);
    Descriptor opened(::open(part.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, S_IRUSR | S_IWUSR));
    if (opened.is_open()) return NewFile(file, std::move(opened));
    if (errno == EEXIST)
        return Error{
            Errc::setup,
            part.string() + " is there already, perhaps of an attempt that was cut short; remove it first"};
    return failed(file, errno);
}

Result<void> NewFile::write(std::string_view bytes) {
    while (!bytes.empty()) {
        const ssize_t count = ::write(opened_.number(), bytes.data(), bytes.size());
        if (count < 0 && errno == EINTR) continue;
        if (count < 0) return failed(part_, errno);
        bytes.remove_prefix(static_cast<std::size_t>(count));
    }
    return {};
}

Result<void> NewFile::sync() {
    if (::fsync(opened_.number()) != 0) return failed(part_, errno);
    return {};
}

Result<void> NewFile::settle() {
    if (const auto synced = sync(); !synced) return synced;
    const int refused = rename_sparing(part_, file_);
    if (refused == EEXIST) return is_there(file_);
    if (refused != 0) return failed(file_, refused);
    opened_.close();
    const int unsynced = sync_folder_of(file_);
    if (unsynced != 0) return failed(file_, unsynced);
    return {};
}

Result<void> write_new_file(const std::filesystem::path& file, std::string_view content) {
    auto made = NewFile::begin(file);
    if (!made) return made.error();
    if (const auto written = made->write(content); !written) return written;
    return made->settle();
}

}  // namespace nightferry
