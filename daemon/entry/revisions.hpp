// Which revision of an entry is in effect, whatever the order in which they arrived.
#pragma once

#include "daemon/core/time.hpp"
#include "daemon/entry/entry.hpp"

namespace nightferry::entry {

// What orders amendments of one entry: when they were written down. A record that does not say so counts from
// when it happened.
Instant order_of(const Submission& submission);

// Whether `later` takes effect over `earlier`; both are revisions of one entry. A record comes before its
// amendments and a retraction is final, whatever was written down when; between amendments the later-recorded
// one counts.
bool takes_effect_over(const Submission& later, const Submission& earlier);

}  // namespace nightferry::entry
