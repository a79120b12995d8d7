#include "daemon/entry/revisions.hpp"

#include "daemon/entry/body.hpp"

namespace nightferry::entry {

Instant order_of(const Submission& submission) {
    return submission.recorded ? submission.recorded->at : submission.entry->time.at;
}

bool takes_effect_over(const Submission& later, const Submission& earlier) {
    if (later.action != earlier.action) return earlier.action < later.action;
    if (order_of(later) != order_of(earlier)) return order_of(earlier) < order_of(later);
    return essence(earlier) < essence(later);
}

}  // namespace nightferry::entry
