// Provenance to who wrote an entry down, when and why: the reverse of what Mapper puts.
#pragma once

#include "daemon/mapping/read_frame.hpp"

namespace nightferry::mapping {

// Of any release; the resource is valid. Problems go into the draft of `incoming`.
Authorship read_provenance(Incoming& incoming);

}  // namespace nightferry::mapping
