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

// Of one clinic.
struct ClinicReading {
    std::string clinic;
    logbook::QueueCounts counts;
    logbook::ClinicState state;
    bool is_running = false;
    // Since the settings in force were read.
    std::int64_t passes_ended = 0;
    std::int64_t passes_stopped = 0;
    std::map<std::string, std::int64_t> requests;  // By what became of them.
    std::int64_t sent_bytes = 0;
    std::int64_t received_bytes = 0;
    // Where there is such a thing and its end is known.
    std::optional<Instant> token_ends;
    std::optional<Instant> hub_certificate_ends;
    std::optional<Instant> clinic_certificate_ends;
};

struct Reading {
    Instant now;
    Instant started;
    std::string version;
    // By the way in and the answer, since the settings in force were read.
    std::map<std::string, std::map<std::string, std::int64_t>> handed_in;
    std::vector<std::int64_t> events;  // One for each of log_events(), since the daemon's start.
    std::optional<std::uint64_t> data_free_bytes;
    std::optional<std::uint64_t> logbook_bytes;
    std::vector<ClinicReading> clinics;
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
