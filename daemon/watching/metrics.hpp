// Every metric of the hub, in one place. Names and labels are for good; deploy/runbook.md says of each what
// it means and when to worry, and tests/house compares the two. Labels are the names of clinics in the
// settings and fixed words: never anything of entries, persons or carers.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/watching/open_metrics.hpp"
#include "daemon/watching/reading.hpp"

namespace nightferry::watching {

// Without their samples, in the order in which they are told.
std::span<const MetricFamily> metric_kinds();

std::vector<MetricFamily> metrics_of(const Reading& reading);

}  // namespace nightferry::watching
