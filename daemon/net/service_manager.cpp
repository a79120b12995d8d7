#include "daemon/net/service_manager.hpp"

#include <sys/socket.h>
#include <sys/time.h>
#include <sys/un.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <charconv>
#include <cstddef>
#include <cstdlib>
#include <system_error>
#include <utility>

namespace nightferry::net {

namespace {

constexpr std::chrono::seconds between_requests_for_time{10};
constexpr std::chrono::microseconds more_time = std::chrono::minutes{1};
// A manager that does not read its socket must not hold up the event loop for long.
constexpr timeval patience{1, 0};

std::string from_environment(const char* name) {
    const char* value = std::getenv(name);
    return value == nullptr ? std::string() : std::string(value);
}

std::optional<std::int64_t> number(const std::string& text) {
    std::int64_t value = 0;
    const auto [end, failure] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (failure != std::errc() || end != text.data() + text.size() || value <= 0) return std::nullopt;
    return value;
}

// As sd_watchdog_enabled(3): $WATCHDOG_PID, where it is set, names the process that is meant.
std::optional<std::chrono::microseconds> watchdog_from_environment() {
    const std::string process = from_environment("WATCHDOG_PID");
    if (!process.empty() && number(process) != static_cast<std::int64_t>(::getpid())) return std::nullopt;
    const auto span = number(from_environment("WATCHDOG_USEC"));
    return span ? std::optional(std::chrono::microseconds{*span}) : std::nullopt;
}

std::string last_failure() {
    return std::error_code(errno, std::generic_category()).message();
}

}  // namespace

ServiceManager ServiceManager::of_this_process() {
    return {from_environment("NOTIFY_SOCKET"), watchdog_from_environment()};
}

ServiceManager::ServiceManager(std::string socket, std::optional<std::chrono::microseconds> watchdog)
    : address_(std::move(socket)), watchdog_(watchdog) {
    if (address_.empty()) return;
    const bool is_address = address_.front() == '/' || address_.front() == '@';
    if (!is_address || address_.size() >= sizeof(sockaddr_un::sun_path)) {
        failure_ = "NOTIFY_SOCKET holds no address of a Unix-domain socket";
        return;
    }
    descriptor_ = ::socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC, 0);
    if (descriptor_ < 0) failure_ = last_failure();
    (void)::setsockopt(descriptor_, SOL_SOCKET, SO_SNDTIMEO, &patience, sizeof patience);
}

ServiceManager::ServiceManager(ServiceManager&& other) noexcept
    : address_(std::move(other.address_)),
      watchdog_(other.watchdog_),
      descriptor_(std::exchange(other.descriptor_, -1)),
      status_(std::move(other.status_)),
      asked_for_time_(other.asked_for_time_),
      failure_(std::move(other.failure_)) {}

ServiceManager::~ServiceManager() {
    if (descriptor_ >= 0) ::close(descriptor_);
}

void ServiceManager::ready(const std::string& status) {
    send_with_status("READY=1", status);
}

void ServiceManager::reloading(const std::string& status) {
    // The time stamp is compared with that of the request to reload; both are of CLOCK_MONOTONIC.
    const auto now = std::chrono::steady_clock::now().time_since_epoch();
    const auto micros = std::chrono::duration_cast<std::chrono::microseconds>(now).count();
    send_with_status("RELOADING=1\nMONOTONIC_USEC=" + std::to_string(micros), status);
}

void ServiceManager::stopping(const std::string& status) {
    send_with_status("STOPPING=1", status);
}

void ServiceManager::status(const std::string& status) {
    if (status != status_) send_with_status({}, status);
}

void ServiceManager::alive() {
    if (watchdog_) send("WATCHDOG=1");
}

void ServiceManager::still_busy() {
    if (descriptor_ < 0) return;
    const auto now = std::chrono::steady_clock::now();
    if (asked_for_time_ && now - *asked_for_time_ < between_requests_for_time) return;
    asked_for_time_ = now;
    send("EXTEND_TIMEOUT_USEC=" + std::to_string(more_time.count()));
    alive();
}

void ServiceManager::send_with_status(std::string_view message, const std::string& status) {
    status_ = status;
    std::string line = status;
    // Another line would be another variable.
    std::ranges::replace(line, '\n', ' ');
    send(std::string(message) + (message.empty() ? "" : "\n") + "STATUS=" + line);
}

void ServiceManager::send(const std::string& message) {
    if (descriptor_ < 0) return;
    sockaddr_un to{};
    to.sun_family = AF_UNIX;
    address_.copy(to.sun_path, sizeof to.sun_path - 1);
    socklen_t length = sizeof to;
    if (address_.front() == '@') {
        // An abstract address begins with a zero byte and is exactly as long as its name.
        to.sun_path[0] = '\0';
        length = static_cast<socklen_t>(offsetof(sockaddr_un, sun_path) + address_.size());
    }
    ssize_t sent = -1;
    do {
        sent = ::sendto(descriptor_, message.data(), message.size(), MSG_NOSIGNAL,
                        reinterpret_cast<const sockaddr*>(&to), length);
    } while (sent < 0 && errno == EINTR);
    failure_ = sent < 0 ? last_failure() : std::string();
}

}  // namespace nightferry::net
