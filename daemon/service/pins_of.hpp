// What of the settings the logbook comes to depend on.
#pragma once

#include <vector>

#include "config/settings.hpp"
#include "daemon/logbook/pins.hpp"

namespace nightferry::service {

// Each with its place in the settings, such as "medicine[1]".
std::vector<logbook::Pin> pins_of(const config::Settings& settings);

}  // namespace nightferry::service
