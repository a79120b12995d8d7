// The daemon from its first step to its last: opens everything in the right order, lives, ends cleanly.
#pragma once

#include "config/settings.hpp"
#include "daemon/core/result.hpp"
#include "daemon/service/life.hpp"

namespace nightferry::service {

// Runs until SIGTERM or SIGINT, then returns without error, within seconds wherever it is; reads the settings
// again on SIGHUP. Where the disk has no room for opening the logbook it waits for some. Returns an error
// when the hub cannot start otherwise, or when its logbook failed and the process has to end; everything
// accepted before is on disk.
Result<void> run(config::Settings settings, const Surroundings& around);

}  // namespace nightferry::service
