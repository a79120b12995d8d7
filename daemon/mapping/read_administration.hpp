// MedicationAdministration to the draft of a dose, given or not: the reverse of administration.hpp.
#pragma once

#include "daemon/mapping/read_frame.hpp"

namespace nightferry::mapping {

// Of any release; the resource is valid.
void read_administration(Incoming& incoming);

}  // namespace nightferry::mapping
