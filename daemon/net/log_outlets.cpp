#include "daemon/net/log_outlets.hpp"

#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <cstdlib>
#include <string>

namespace nightferry::net {

void write_to_standard_error(std::string_view line) {
    std::fwrite(line.data(), 1, line.size(), stderr);
}

bool is_standard_error_the_journal() {
    const char* named = std::getenv("JOURNAL_STREAM");
    struct stat status {};
    if (named == nullptr || ::fstat(STDERR_FILENO, &status) != 0) return false;
    return named == std::to_string(status.st_dev) + ":" + std::to_string(status.st_ino);
}

Journal::~Journal() {
    if (descriptor_ >= 0) ::close(descriptor_);
}

Journal::Sent Journal::send(std::string_view entry) {
    sockaddr_un address{};
    address.sun_family = AF_UNIX;
    if (socket_.native().size() >= sizeof address.sun_path) return Sent::no;
    socket_.native().copy(address.sun_path, sizeof address.sun_path - 1);
    if (descriptor_ < 0) descriptor_ = ::socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC, 0);
    if (descriptor_ < 0) return Sent::no;
    // Addressed each time, so that a journal that was started again gets it too.
    const auto sent = ::sendto(descriptor_, entry.data(), entry.size(), MSG_DONTWAIT | MSG_NOSIGNAL,
                               reinterpret_cast<const sockaddr*>(&address), sizeof address);
    if (sent == static_cast<ssize_t>(entry.size())) return Sent::yes;
    return sent < 0 && (errno == EAGAIN || errno == ENOBUFS) ? Sent::held_up : Sent::no;
}

}  // namespace nightferry::net
