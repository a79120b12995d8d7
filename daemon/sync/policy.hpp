// By what sending is done. Every queue, batch and delay has its limit here.
#pragma once

#include <chrono>
#include <cstddef>
#include <optional>

#include "fhir/spec/release.hpp"

namespace nightferry::sync {

struct Policy {
    std::size_t deliveries_per_bundle_max = 50;
    std::chrono::microseconds backoff_first = std::chrono::seconds{2};
    std::chrono::microseconds backoff_max = std::chrono::minutes{30};
    std::size_t bundle_bytes_max = 1024 * 1024;
    // How long a request that was given up may still reach the clinic. Where that could do harm, nothing that
    // depends on it is asked before this has gone by.
    std::chrono::microseconds quiet = std::chrono::minutes{5};
    // A clinic that was not heard for so long may have been put back to a backup meanwhile, and is read back
    // anew before anything more is written. In less nobody stops a server, puts its data back and starts it
    // again; and the first waits after a failure, which are shorter, would meet it while it is stopped, when
    // it refuses connections or its gateway says that it is away: after that it is read back anew however
    // short it was.
    std::chrono::microseconds silence_max = std::chrono::seconds{30};
    // How long a CapabilityStatement is believed.
    std::chrono::microseconds statement_age_max = std::chrono::hours{1};
    // How many confirmed deliveries besides the newest are read back in a pass.
    int samples = 2;
    // A wall clock that differs from the clinic's by more is in doubt.
    std::chrono::microseconds skew_max = std::chrono::minutes{5};
    // Which release of FHIR a clinic speaks, as the settings say; absent: as its server says.
    std::optional<fhir::spec::Release> release = {};
};

}  // namespace nightferry::sync
