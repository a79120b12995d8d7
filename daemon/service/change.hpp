// What settings that were read again may not change in a running daemon.
#pragma once

#include <string>
#include <vector>

#include "config/settings.hpp"

namespace nightferry::service {

// The key of each setting that differs and needs a restart; empty when the daemon can take them over.
std::vector<std::string> what_needs_a_restart(const config::Settings& now, const config::Settings& next);

}  // namespace nightferry::service
