// A backup is looked at: it is a file from elsewhere, so the words have to be about that file.
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <system_error>

#include "daemon/logbook/checkup.hpp"
#include "daemon/logbook/schema.hpp"

namespace nightferry::logbook {

namespace {

Error unreadable(Errc code, const std::filesystem::path& file, int number) {
    const std::string why = std::generic_category().message(number);
    return {code, file.string() + " cannot be read: " + why +
                      (number == EACCES ? "; run this as its owner (see 'ls -l'), or as root" : "")};
}

Result<void> look_at_start(int opened, const std::filesystem::path& file) {
    struct stat facts {};
    if (::fstat(opened, &facts) != 0) return unreadable(Errc::storage, file, errno);
    if (S_ISDIR(facts.st_mode)) return unreadable(Errc::setup, file, EISDIR);
    constexpr std::string_view magic("SQLite format 3\0", 16);
    std::array<char, magic.size()> start{};
    const ssize_t count = ::pread(opened, start.data(), start.size(), 0);
    if (count < 0) return unreadable(Errc::storage, file, errno);
    if (std::string_view(start.data(), static_cast<std::size_t>(count)) == magic) return {};
    return Error{Errc::corrupt, file.string() + " is no backup of a logbook"};
}

// What SQLite would say of a file that it cannot open is about the daemon's own logbook.
Result<void> look_at_file(const std::filesystem::path& file) {
    const int opened = ::open(file.c_str(), O_RDONLY | O_CLOEXEC);
    if (opened < 0 && errno == ENOENT) return Error{Errc::not_found, "there is no file " + file.string()};
    if (opened < 0) return unreadable(errno == EIO ? Errc::storage : Errc::setup, file, errno);
    auto looked = look_at_start(opened, file);
    ::close(opened);
    return looked;
}

Error named(const Error& error, const std::filesystem::path& file) {
    if (error.code != Errc::storage) return {error.code, file.string() + ": " + error.detail};
    return {error.code, file.string() + " cannot be read to its end, its disk fails: " + error.detail};
}

Result<Checkup> check_sealed(const std::filesystem::path& file) {
    const std::filesystem::path wal = Beside(file).wal;
    const auto size = system_files().size(wal);
    if (!size) return size.error();
    if (size->value_or(0) > 0) {
        return Error{Errc::corrupt,
                     "it is in use or was not closed, its newest part lies in " + wal.filename().string() +
                         " beside it. Make a backup of a logbook in use; one that was moved aside "
                         "is restored as it is, both parts together"};
    }
    auto db = Database::open_sealed(file);
    if (!db) return db.error();
    const auto version = db->integer("PRAGMA user_version");
    if (!version) return version.error();
    if (*version == 0) return Error{Errc::corrupt, "it is no backup of a logbook"};
    const auto recognised = recognise(*db);
    if (!recognised) return recognised.error();
    return check_up(*db);
}

}  // namespace

Result<Checkup> check_up(const std::filesystem::path& file) {
    if (const auto readable = look_at_file(file); !readable) return readable.error();
    auto checkup = check_sealed(file);
    if (!checkup) return named(checkup.error(), file);
    return checkup;
}

}  // namespace nightferry::logbook
