#include "daemon/sync/keep_alive.hpp"

#include <utility>

namespace nightferry::sync {

bool KeepAlive::is_used_up(Instant now) {
    // A clock that was set back tells nothing of how old this is.
    if (most_ && (now < learned_ || now - learned_ >= believed_for)) most_.reset();
    return most_ && answered_ >= *most_;
}

bool KeepAlive::on(const Reply& reply, Instant now) {
    if (std::holds_alternative<HttpAnswer>(reply)) {
        ++answered_;
        if (broke_after_ && answered_ > *broke_after_) broke_after_.reset();
        return false;
    }
    // After any failure the connection is closed; one that was never made tells nothing.
    if (std::get<NoAnswer>(reply).reached == NoAnswer::Reached::perhaps) return broke(now);
    closed();
    return false;
}

bool KeepAlive::broke(Instant now) {
    const int answered = std::exchange(answered_, 0);
    // At its first request anything breaks that leads nowhere.
    if (answered == 0) return false;
    const bool is_again = broke_after_ == answered;
    broke_after_ = answered;
    if (!is_again) return false;
    most_ = answered;
    learned_ = now;
    return true;
}

}  // namespace nightferry::sync
