// What is known of a running hub at one moment, as plain data, and the port through which it is asked for.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "daemon/core/result.hpp"
#include "daemon/core/time.hpp"
#include "daemon/logbook/delivery.hpp"

namespace nightferry::watching {

// What only grows. By the way in, the answer, the result, the outcome: fixed words all of them.
using ByWord = std::map<std::string, std::int64_t>;

struct ClinicCounts {
    ByWord passes;
    ByWord requests;
    std::int64_t sent_bytes = 0;  // Of bodies.
    std::int64_t received_bytes = 0;
};

struct Counts {
    std::map<std::string, ByWord> handed_in;  // Entries.
    ByWord unreadable;                        // Files and requests of which nothing could be read.
    std::map<std::string, ClinicCounts> clinics;

    void add(const Counts& more);
};

// Of one clinic.
struct ClinicReading {
    std::string clinic;
    logbook::QueueCounts counts;
    logbook::ClinicState state;
    bool is_running = false;
    bool last_pass_stopped = false;
    std::size_t persons_left_out = 0;
    ClinicCounts counted;  // Since the daemon's start.
    // Where there is such a thing and its end is known.
    std::optional<Instant> token_ends;
    std::optional<Instant> hub_certificate_ends;
    std::optional<Instant> clinic_certificate_ends;
};

struct Reading {
    Instant now;
    Instant started;
    std::string version;
    bool is_ready = true;
    bool is_disk_full = false;      // Something waits for room.
    bool settings_refused = false;  // Those that were read last are not in force.
    // Since the daemon's start.
    std::map<std::string, ByWord> handed_in;
    ByWord unreadable;
    std::vector<std::int64_t> events;  // One for each of log_events().
    std::optional<std::uint64_t> data_free_bytes;
    std::optional<std::uint64_t> logbook_bytes;
    std::vector<ClinicReading> clinics;
    std::optional<Instant> page_certificate_ends;
};

// What has to hold for taking entries in.
struct Condition {
    std::string data_trouble;   // Why the data folder cannot be used; empty: it can.
    std::string inbox_trouble;  // The same of the inbox.
    std::optional<std::uint64_t> data_free_bytes;
};

class Watched {
 public:
    virtual ~Watched() = default;
    // An error means that the logbook cannot be read.
    virtual Result<Reading> read() = 0;
    virtual Condition condition() const = 0;
};

}  // namespace nightferry::watching
