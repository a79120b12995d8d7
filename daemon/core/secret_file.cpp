#include "daemon/core/secret_file.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstdlib>
#include <system_error>

#include "daemon/core/descriptor.hpp"

namespace nightferry {

namespace {

constexpr std::size_t bytes_max = 64 * 1024;

std::string last_failure() {
    return std::error_code(errno, std::generic_category()).message();
}

// Where it lies; empty when nobody handed it over. See CREDENTIALS in systemd.exec(5).
std::filesystem::path place_of(const std::filesystem::path& file) {
    constexpr std::string_view prefix = "credential:";
    const std::string name = file.string();
    if (!name.starts_with(prefix)) return file;
    const char* folder = std::getenv("CREDENTIALS_DIRECTORY");
    return folder == nullptr ? std::filesystem::path()
                             : std::filesystem::path(folder) / name.substr(prefix.size());
}

// What is wrong with it as a place for a secret; empty when nothing is.
std::string fault_of(const struct stat& about) {
    // Root may read everything, so whose it is matters to those who run under another user.
    const bool is_ours = about.st_uid == ::geteuid() || about.st_uid == 0 || ::geteuid() == 0;
    if (!is_ours) return "belongs to another user than the one who reads it";
    if ((about.st_mode & S_IRWXO) != 0)
        return "can be read by everybody on this machine; chmod 0600 or 0640 it";
    if ((about.st_mode & S_IWGRP) != 0) return "can be changed by its group; chmod 0600 or 0640 it";
    return {};
}

using Judge = std::string (*)(const struct stat&);

Result<std::string> read_small(const std::filesystem::path& file, Judge judge) {
    const auto error = [&](const std::string& what) {
        return Error{Errc::setup, file.string() + " " + what};
    };
    const std::filesystem::path place = place_of(file);
    if (place.empty())
        return error("was not handed over by the service manager ($CREDENTIALS_DIRECTORY is not set)");
    const Descriptor opened(::open(place.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK));
    if (!opened.is_open()) return error("cannot be read: " + last_failure());
    struct stat about {};
    if (::fstat(opened.number(), &about) != 0) return error("cannot be read: " + last_failure());
    if (!S_ISREG(about.st_mode)) return error("is no plain file");
    if (about.st_size > static_cast<off_t>(bytes_max)) return error("is too large; at most 64 KiB are read");
    if (const std::string fault = judge(about); !fault.empty()) return error(fault);
    std::string content(static_cast<std::size_t>(about.st_size), '\0');
    std::size_t got = 0;
    while (got < content.size()) {
        const ssize_t count = ::read(opened.number(), content.data() + got, content.size() - got);
        if (count < 0 && errno == EINTR) continue;
        if (count < 0) return error("cannot be read: " + last_failure());
        if (count == 0) break;
        got += static_cast<std::size_t>(count);
    }
    content.resize(got);
    return content;
}

}  // namespace

Result<std::string> read_secret(const std::filesystem::path& file) {
    return read_small(file, &fault_of);
}

Result<std::string> read_beside_secrets(const std::filesystem::path& file) {
    return read_small(file, [](const struct stat&) { return std::string(); });
}

Result<std::string> read_secret_line(const std::filesystem::path& file) {
    auto content = read_secret(file);
    if (!content) return content;
    while (content->ends_with('\n') || content->ends_with('\r'))
        content->pop_back();
    if (content->empty()) return Error{Errc::setup, file.string() + " is empty"};
    if (content->find_first_of("\r\n") != std::string::npos)
        return Error{Errc::setup, file.string() + " has several lines; the secret has to be the only one"};
    return content;
}

}  // namespace nightferry
