// Tells the service manager how the daemon is doing, by the protocol of sd_notify(3): each message is one
// datagram to the Unix-domain socket that $NOTIFY_SOCKET names. Where there is none, as under another init,
// in a plain shell or in most containers, every call does nothing.
#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <string_view>

namespace nightferry::net {

class ServiceManager {
 public:
    // The one that started this process, from $NOTIFY_SOCKET, $WATCHDOG_USEC and $WATCHDOG_PID.
    static ServiceManager of_this_process();

    // `socket` is a path, "@name" for an abstract address, or empty for nobody. `watchdog` is how long the
    // process may be silent.
    ServiceManager(std::string socket, std::optional<std::chrono::microseconds> watchdog);
    ServiceManager(ServiceManager&& other) noexcept;
    ServiceManager& operator=(ServiceManager&&) = delete;
    ~ServiceManager();

    // Every status is one line of plain words; it holds nobody's name and nothing of anybody's health.
    void ready(const std::string& status);
    void reloading(const std::string& status);
    void stopping(const std::string& status);
    // Sent only when it differs from the last one.
    void status(const std::string& status);
    // The event loop is alive.
    void alive();
    // Starting or stopping goes on; the manager is asked for a minute more, at most every ten seconds.
    void still_busy();

    std::optional<std::chrono::microseconds> watchdog() const { return watchdog_; }
    // Why the last message did not reach anybody; empty when it did, or when there is nobody.
    const std::string& failure() const { return failure_; }

 private:
    void send(const std::string& message);
    void send_with_status(std::string_view message, const std::string& status);

    std::string address_;
    std::optional<std::chrono::microseconds> watchdog_;
    int descriptor_ = -1;
    std::string status_;
    std::optional<std::chrono::steady_clock::time_point> asked_for_time_;
    std::string failure_;
};

}  // namespace nightferry::net
