// Waiting for room on a disk that is full.
#pragma once

#include <boost/asio/io_context.hpp>
#include <boost/asio/signal_set.hpp>
#include <chrono>

#include "daemon/net/system_ports.hpp"

namespace nightferry::service {

// From its making on it takes the signals that end the process, so that none is lost between two waits.
class RoomWait {
 public:
    RoomWait();
    // True after this span; false as soon as the process was told to end.
    bool wait(std::chrono::seconds span);

 private:
    boost::asio::io_context loop_{1};
    boost::asio::signal_set signals_;
    net::LoopAlarm alarm_;
    bool is_told_to_end_ = false;
};

}  // namespace nightferry::service
