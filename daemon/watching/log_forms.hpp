// How a line of the log is written: for people, as JSON for programs that collect lines, and with fields of
// its own for the journal of systemd.
#pragma once

#include <string>

#include "daemon/core/time.hpp"
#include "daemon/watching/log_repeats.hpp"

namespace nightferry::watching {

// "2026-10-12T07:00:00.250Z warning clinic_answered_badly clinic=north outcome=http_503\n"
std::string text_line(const LogLine& line, Instant now);

// {"time":"…","level":"warning","event":"clinic_answered_badly","clinic":"north","outcome":"http_503"}, with
// a line feed.
std::string json_line(const LogLine& line, Instant now);

// "<4>": what the journal takes off the front of a line on standard error, for its priority; sd-daemon(3).
std::string level_prefix(const LogLine& line);

// A datagram of https://systemd.io/JOURNAL_NATIVE_PROTOCOL/: MESSAGE, PRIORITY, SYSLOG_IDENTIFIER,
// NIGHTFERRY_EVENT and each fact in a field like NIGHTFERRY_CLINIC. The journal adds the time.
std::string journal_entry(const LogLine& line);

}  // namespace nightferry::watching
