// Wakes up when something happens in the inbox, and has it swept.
#pragma once

#include <functional>
#include <memory>

#include "daemon/core/result.hpp"
#include "daemon/intake/inbox.hpp"

namespace boost::asio {
class io_context;
}

namespace nightferry::intake {

class InboxWatch {
 public:
    // Has the inbox swept by the event loop whenever a file was closed after writing or moved in, and when a
    // file was not ready. Calls `on_failure` when a sweep failed for good.
    static Result<std::unique_ptr<InboxWatch>> make(boost::asio::io_context& loop, Inbox inbox,
                                                    std::function<void(const Error&)> on_failure);
    ~InboxWatch();  // Nothing is swept or called any more.

    // Sweeps now: for what lies there already, and from time to time, in case the kernel dropped a message.
    void look();
    // Whether a file lies there for which the disk has no room.
    bool waits_for_room() const;

 private:
    class Watcher;
    explicit InboxWatch(std::shared_ptr<Watcher> watcher);
    std::shared_ptr<Watcher> watcher_;
};

}  // namespace nightferry::intake
