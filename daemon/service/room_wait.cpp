#include "daemon/service/room_wait.hpp"

#include <csignal>

namespace nightferry::service {

RoomWait::RoomWait() : signals_(loop_, SIGTERM, SIGINT, SIGHUP), alarm_(loop_) {
    signals_.async_wait([this](boost::system::error_code cancelled, int) {
        if (cancelled) return;
        is_told_to_end_ = true;
        loop_.stop();
    });
}

bool RoomWait::wait(std::chrono::seconds span) {
    if (is_told_to_end_) return false;
    alarm_.after(span, [this] { loop_.stop(); });
    loop_.restart();
    loop_.run();
    return !is_told_to_end_;
}

}  // namespace nightferry::service
