// How long to wait after failures.
#pragma once

#include <chrono>

#include "daemon/core/ports.hpp"
#include "daemon/sync/policy.hpp"

namespace nightferry::sync {

// After `failures` failures in a row (at least 1): uniform between nothing and first * 2^(failures - 1),
// capped. Drawing from the whole span keeps homes that lost the same clinic at once from returning at once.
// At least a tenth of a second, so that no failure can be retried hot.
std::chrono::microseconds backoff(int failures, const Policy& policy, Random& random);

}  // namespace nightferry::sync
