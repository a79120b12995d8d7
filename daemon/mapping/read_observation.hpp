// Observation to the draft of a finding, a weight or an opened vial: the reverse of observations.hpp.
#pragma once

#include "daemon/mapping/read_frame.hpp"

namespace nightferry::mapping {

// Of any release; the resource is valid.
void read_observation(Incoming& incoming);

}  // namespace nightferry::mapping
