#include "daemon/intake/inbox_watch.hpp"

#include <sys/inotify.h>

#include <array>
#include <boost/asio/buffer.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/posix/stream_descriptor.hpp>
#include <boost/asio/steady_timer.hpp>
#include <cerrno>
#include <cstring>

namespace nightferry::intake {

namespace asio = boost::asio;
using boost::system::error_code;

// A handler that already stands in the loop's queue cannot be called back; it sees that its watcher is gone.
class InboxWatch::Watcher : public std::enable_shared_from_this<InboxWatch::Watcher> {
 public:
    Watcher(asio::io_context& loop, Inbox inbox, int descriptor, std::function<void(const Error&)> on_failure)
        : inbox_(std::move(inbox)),
          notices_(loop, descriptor),
          timer_(loop),
          on_failure_(std::move(on_failure)) {}

    // Again as well: of the same folder the kernel keeps one watch, and a folder that was put in its place
    // has none.
    bool watch() {
        return ::inotify_add_watch(notices_.native_handle(), inbox_.folder().c_str(),
                                   IN_CLOSE_WRITE | IN_MOVED_TO | IN_ONLYDIR) >= 0;
    }

    void sweep() {
        const auto swept = inbox_.sweep(closed_);
        if (!swept || !swept->has_more) closed_.clear();
        if (!swept) return on_failure_(swept.error());
        waits_for_room_ = swept->waits_for_room;
        if (!swept->look_again) return;
        timer_.expires_after(*swept->look_again);
        timer_.async_wait([self = weak_from_this()](error_code cancelled) {
            const auto watcher = self.lock();
            if (!cancelled && watcher) watcher->sweep();
        });
    }

    bool waits_for_room() const { return waits_for_room_; }

    void read_notices() {
        notices_.async_read_some(asio::buffer(bytes_),
                                 [self = weak_from_this()](error_code failure, std::size_t count) {
                                     const auto watcher = self.lock();
                                     if (failure || !watcher) return;
                                     watcher->note_names(count);
                                     watcher->read_notices();
                                     watcher->sweep();
                                 });
    }

 private:
    void note_names(std::size_t count) {
        for (std::size_t at = 0; at + sizeof(inotify_event) <= count;) {
            inotify_event notice;
            std::memcpy(&notice, bytes_.data() + at, sizeof notice);
            if (notice.len > 0) closed_.insert(std::string(bytes_.data() + at + sizeof notice));
            at += sizeof notice + notice.len;
        }
    }

    Inbox inbox_;
    asio::posix::stream_descriptor notices_;
    asio::steady_timer timer_;
    std::function<void(const Error&)> on_failure_;
    std::set<std::string> closed_;
    bool waits_for_room_ = false;
    alignas(inotify_event) std::array<char, 16 * 1024> bytes_;
};

Result<std::unique_ptr<InboxWatch>> InboxWatch::make(asio::io_context& loop, Inbox inbox,
                                                     std::function<void(const Error&)> on_failure) {
    const int descriptor = ::inotify_init1(IN_NONBLOCK | IN_CLOEXEC);
    const auto refused = [](const std::string& folder) {
        return Error{Errc::setup, "the inbox " + folder + " cannot be watched: " + std::strerror(errno)};
    };
    if (descriptor < 0) return refused(inbox.folder().string());
    auto watcher = std::make_shared<Watcher>(loop, inbox, descriptor, std::move(on_failure));
    if (!watcher->watch()) return refused(inbox.folder().string());
    watcher->read_notices();
    return std::unique_ptr<InboxWatch>(new InboxWatch(std::move(watcher)));
}

InboxWatch::InboxWatch(std::shared_ptr<Watcher> watcher) : watcher_(std::move(watcher)) {}

InboxWatch::~InboxWatch() = default;

bool InboxWatch::waits_for_room() const {
    return watcher_->waits_for_room();
}

void InboxWatch::look() {
    // Where the folder is gone the sweep says so.
    (void)watcher_->watch();
    watcher_->sweep();
}

}  // namespace nightferry::intake
