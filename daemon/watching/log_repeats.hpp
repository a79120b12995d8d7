// Keeps the log quiet where the same thing happens again and again: the first time it is told, then for the
// event's pause only counted, and when that is over a line says how often it was left out. The same are
// events of one kind about the same clinic, the same part of the hub and the same outcome. Knows no clock;
// nobody wakes up for it: what is owed is told with the next event of any kind, or at the end.
#pragma once

#include <cstdint>
#include <map>
#include <span>
#include <string>
#include <vector>

#include "daemon/core/log.hpp"
#include "daemon/core/time.hpp"

namespace nightferry::watching {

struct LogLine {
    LogEvent event;
    std::vector<Log::Fact> facts;
    // Nothing new happened: so many like the newest of them, which these facts are of, were left out.
    std::int64_t left_out = 0;
    Instant since = {};  // When the first of them happened, and the newest.
    Instant newest = {};
};

class LogRepeats {
 public:
    // What is to be written now that this has happened, in that order.
    std::vector<LogLine> on(LogEvent event, std::span<const Log::Fact> facts, Instant now);
    // What is owed when nothing more will happen.
    std::vector<LogLine> at_end();

 private:
    struct Told {
        Instant at;
        LogLine newest;
    };
    std::map<std::string, Told> told_;
};

}  // namespace nightferry::watching
