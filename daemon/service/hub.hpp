// The running hub: opens everything in the right order, runs the event loop, ends cleanly.
#pragma once

#include "config/settings.hpp"
#include "daemon/core/log.hpp"
#include "daemon/core/ports.hpp"
#include "daemon/core/result.hpp"

namespace nightferry::service {

// Runs until SIGTERM or SIGINT, then returns without error. Where the disk has no room for opening the
// logbook it waits for some. Returns an error when the hub cannot start otherwise, or when its logbook failed
// and the process has to end; everything accepted before is on disk.
Result<void> run_hub(const config::Settings& settings, Clock& clock, Random& random, Log& log);

}  // namespace nightferry::service
