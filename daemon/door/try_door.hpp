// A preflight over the network.
#pragma once

#include <vector>

#include "config/settings.hpp"
#include "daemon/core/ports.hpp"
#include "daemon/door/preflight.hpp"

namespace nightferry::door {

// Tries the way in to a clinic with its own keys and certificates. It takes as long as the clinic's server
// lets it wait, a minute and a half for each answer at most.
std::vector<Step> try_door(const config::Settings& settings, const config::Clinic& clinic,
                           bool send_test_record, Clock& clock, Random& random);

}  // namespace nightferry::door
