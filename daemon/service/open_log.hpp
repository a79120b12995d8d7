// The log that the settings ask for.
#pragma once

#include <memory>

#include "config/settings.hpp"
#include "daemon/core/log.hpp"
#include "daemon/core/ports.hpp"

namespace nightferry::service {

// The clock outlives it.
std::unique_ptr<Log> open_log(config::LogForm form, Clock& clock);

}  // namespace nightferry::service
