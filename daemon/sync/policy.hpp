// The numbers by which sending is done. Every queue, batch and delay has its limit here.
#pragma once

#include <chrono>
#include <cstddef>

namespace nightferry::sync {

struct Policy {
    std::size_t deliveries_per_bundle_max = 50;
    std::chrono::microseconds backoff_first = std::chrono::seconds{2};
    std::chrono::microseconds backoff_max = std::chrono::minutes{30};
};

}  // namespace nightferry::sync
