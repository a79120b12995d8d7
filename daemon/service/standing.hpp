// How the hub stands, in one sentence for whoever looks at the service: numbers and times, nobody's name.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "daemon/core/time.hpp"
#include "daemon/watching/reading.hpp"

namespace nightferry::service {

// What the metrics tell of the daemon itself, whatever settings are in force.
struct DaemonSigns {
    Instant started;
    bool settings_refused = false;  // Those that were read last are not in force.
    watching::Counts before = {};   // What was counted under earlier settings.
};

struct Standing {
    std::size_t clinics = 0;
    std::size_t passes = 0;            // Under way.
    std::int64_t waiting = 0;          // Deliveries, at all clinics together.
    std::int64_t set_aside = 0;        // Until a person looks at them.
    std::optional<Instant> last_pass;  // When the newest one ended.
};

// "Running; 3 entries wait for the clinic; the last pass ended at 2026-10-20T01:12:05Z."
std::string in_words(const Standing& standing);

}  // namespace nightferry::service
