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
    // Sweeps once, then whenever a file was closed after writing or moved in, when a file was not ready, and
    // every minute in case the kernel dropped a message. Calls `on_failure` when a sweep failed for good.
    static Result<std::unique_ptr<InboxWatch>> start(boost::asio::io_context& loop, Inbox inbox,
                                                     std::function<void(const Error&)> on_failure);
    ~InboxWatch();

 private:
    class Watcher;
    explicit InboxWatch(std::unique_ptr<Watcher> watcher);
    std::unique_ptr<Watcher> watcher_;
};

}  // namespace nightferry::intake
