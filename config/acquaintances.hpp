// Whom FHIR that is handed in can mean, by all the names that the settings give people.
#pragma once

#include "config/settings.hpp"
#include "daemon/mapping/acquaintances.hpp"

namespace nightferry::config {

// Refers to the household in `settings`.
mapping::Acquaintances acquaintances_of(const Settings& settings);

}  // namespace nightferry::config
