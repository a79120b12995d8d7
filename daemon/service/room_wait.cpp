#include "daemon/service/room_wait.hpp"

namespace nightferry::service {

RoomWait::RoomWait(Signals& signals)
    : signals_(signals),
      watch_(loop_, signals,
             [this] {
                 if (signals_.is_told_to_end()) loop_.stop();
             }),
      alarm_(loop_) {}

bool RoomWait::wait(std::chrono::seconds span) {
    if (signals_.is_told_to_end()) return false;
    alarm_.after(span, [this] { loop_.stop(); });
    loop_.restart();
    loop_.run();
    return !signals_.is_told_to_end();
}

}  // namespace nightferry::service
