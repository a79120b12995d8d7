#include "daemon/service/signals.hpp"

#include <sys/signalfd.h>
#include <unistd.h>

#include <cerrno>
#include <csignal>
#include <system_error>

namespace nightferry::service {

namespace {

int checked(int descriptor, const char* what) {
    if (descriptor < 0) throw std::system_error(errno, std::generic_category(), what);
    return descriptor;
}

}  // namespace

Signals::Signals() {
    sigset_t taken;
    ::sigemptyset(&taken);
    for (const int signal : {SIGTERM, SIGINT, SIGHUP})
        ::sigaddset(&taken, signal);
    ::sigprocmask(SIG_BLOCK, &taken, nullptr);
    descriptor_ = checked(::signalfd(-1, &taken, SFD_NONBLOCK | SFD_CLOEXEC), "signals cannot be taken");
}

Signals::~Signals() {
    ::close(descriptor_);
}

bool Signals::look() {
    signalfd_siginfo notice{};
    bool came = false;
    for (;;) {
        const ssize_t count = ::read(descriptor_, &notice, sizeof notice);
        if (count < 0 && errno == EINTR) continue;
        if (count != static_cast<ssize_t>(sizeof notice)) return came;
        came = true;
        if (notice.ssi_signo == SIGHUP) {
            is_told_to_reload_ = true;
        } else {
            is_told_to_end_ = true;
        }
    }
}

SignalWatch::SignalWatch(boost::asio::io_context& loop, Signals& signals, std::function<void()> came)
    : signals_(signals),
      came_(std::move(came)),
      // It closes its descriptor in the end.
      notices_(loop, checked(::dup(signals.descriptor()), "signals cannot be watched")) {
    wait();
}

void SignalWatch::wait() {
    notices_.async_wait(boost::asio::posix::stream_descriptor::wait_read,
                        [this](boost::system::error_code failure) {
                            if (failure) return;
                            signals_.look();
                            wait();
                            came_();
                        });
}

}  // namespace nightferry::service
