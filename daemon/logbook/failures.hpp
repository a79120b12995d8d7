// What SQLite and the operating system report, as errors that say what to do.
#pragma once

#include "daemon/core/result.hpp"

namespace nightferry::logbook {

// `code` is an extended result code of SQLite, `system` the errno value behind it or 0. Errors that
// SQLite's own words cannot be trusted for: see Trust.
Error error_from_sqlite(int code, int system);
Error error_from_system(int number);
Error held_elsewhere();
Error no_local_disk();

// Whether, after this result, what the system shows of the file may never have reached the disk.
bool leaves_doubt(int code, int system);

}  // namespace nightferry::logbook
