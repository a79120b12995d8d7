#include "daemon/sync/backoff.hpp"

#include <algorithm>

namespace nightferry::sync {

std::chrono::microseconds backoff(int failures, const Policy& policy, Random& random) {
    constexpr std::chrono::microseconds least = std::chrono::milliseconds{100};
    std::chrono::microseconds span = policy.backoff_first;
    for (int i = 1; i < failures && span < policy.backoff_max; ++i)
        span *= 2;
    span = std::min(span, policy.backoff_max);
    const auto drawn = random.below(static_cast<std::uint64_t>(span.count()) + 1);
    return std::max(least, std::chrono::microseconds{static_cast<std::int64_t>(drawn)});
}

}  // namespace nightferry::sync
