// Waiting for room on a disk that is full.
#pragma once

#include <boost/asio/io_context.hpp>
#include <chrono>

#include "daemon/net/system_ports.hpp"
#include "daemon/service/signals.hpp"

namespace nightferry::service {

class RoomWait {
 public:
    explicit RoomWait(Signals& signals);
    // True after this span; false as soon as the process was told to end.
    bool wait(std::chrono::seconds span);

 private:
    boost::asio::io_context loop_{1};
    Signals& signals_;
    SignalWatch watch_;
    net::LoopAlarm alarm_;
};

}  // namespace nightferry::service
