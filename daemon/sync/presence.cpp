#include "daemon/sync/presence.hpp"

namespace nightferry::sync {

void Presence::heard(Instant now) {
    heard_ = Heard{now};
}

void Presence::waited(std::chrono::microseconds span) {
    if (heard_) heard_->waited += span;
}

bool Presence::may_have_been_put_back(Instant now) const {
    if (!heard_) return false;
    const bool is_clock_set_back = now < heard_->at;
    return is_clock_set_back || now - heard_->at >= silence_max_ || heard_->waited >= silence_max_;
}

}  // namespace nightferry::sync
