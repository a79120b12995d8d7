// The hub's summary of a day or week to the content of its Observation.
#pragma once

#include "daemon/entry/entry.hpp"
#include "daemon/entry/household.hpp"
#include "fhir/resource/observation.hpp"

namespace nightferry::mapping {

// `ends` is when its time ended. Counts are integers, headline figures ratios with a percentage beside them;
// where a ratio would be of nothing, the component says so by its dataAbsentReason.
void fill(fhir::resource::Observation& observation, const entry::Summary& summary, const Moment& ends,
          const entry::Household& household);

}  // namespace nightferry::mapping
