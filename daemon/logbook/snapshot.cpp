#include "daemon/logbook/snapshot.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <utility>

#include "daemon/logbook/copied.hpp"
#include "daemon/logbook/failures.hpp"

namespace nightferry::logbook {

Result<Snapshot> Snapshot::take(Database& db, const std::filesystem::path& file, Instant now, Files& files) {
    const std::filesystem::path copy = file.string() + ".copied";
    if (const auto cleared = remove_with_journals(copy, files); !cleared) return cleared.error();
    const auto copied = copy_with_mark(db, copy, now, files);
    if (!copied) return copied.error();
    Descriptor opened(::open(copy.c_str(), O_RDONLY | O_CLOEXEC));
    const int failure = errno;
    (void)files.remove(copy);
    struct stat facts {};
    if (!opened.is_open()) return error_from_system(failure);
    if (::fstat(opened.number(), &facts) != 0) return error_from_system(errno);
    return Snapshot(std::move(opened), static_cast<std::uint64_t>(facts.st_size));
}

Result<std::string> Snapshot::read(std::uint64_t from, std::size_t most) const {
    std::string bytes(most, '\0');
    std::size_t got = 0;
    while (got < most) {
        const ssize_t count =
            ::pread(opened_.number(), bytes.data() + got, most - got, static_cast<off_t>(from + got));
        if (count < 0 && errno == EINTR) continue;
        if (count < 0) return error_from_system(errno);
        if (count == 0) break;
        got += static_cast<std::size_t>(count);
    }
    bytes.resize(got);
    return bytes;
}

}  // namespace nightferry::logbook
