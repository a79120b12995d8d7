// The signals that tell the daemon to end (SIGTERM, SIGINT) and to read its settings again (SIGHUP). They are
// taken in no handler but read like a file, so that one is also seen in the middle of long work on the
// logbook.
#pragma once

#include <boost/asio/io_context.hpp>
#include <boost/asio/posix/stream_descriptor.hpp>
#include <functional>

namespace nightferry::service {

class Signals {
 public:
    // From here on none of them ends the process by itself, in any thread that is started later. Throws
    // std::system_error where the system has no descriptor for it.
    Signals();
    Signals(const Signals&) = delete;
    Signals& operator=(const Signals&) = delete;
    ~Signals();

    // Takes note of those that came, and returns whether any did. What was taken wakes up no SignalWatch any
    // more: whoever looks has to see to it that it is acted upon.
    bool look();
    bool is_told_to_end() const { return is_told_to_end_; }
    // Whether the settings are to be read again; says so once.
    bool take_reload() { return std::exchange(is_told_to_reload_, false); }

    int descriptor() const { return descriptor_; }

 private:
    int descriptor_;
    bool is_told_to_end_ = false;
    bool is_told_to_reload_ = false;
};

// Calls back from an event loop whenever signals came, until it is destroyed; the loop must not run
// afterwards.
class SignalWatch {
 public:
    SignalWatch(boost::asio::io_context& loop, Signals& signals, std::function<void()> came);

 private:
    void wait();

    Signals& signals_;
    std::function<void()> came_;
    boost::asio::posix::stream_descriptor notices_;
};

}  // namespace nightferry::service
