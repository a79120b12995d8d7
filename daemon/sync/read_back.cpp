#include "daemon/sync/read_back.hpp"

#include <algorithm>

namespace nightferry::sync {

ReadBack::Wish ReadBack::next(Random& random) {
    if (stage_ == Stage::walking) return {next_below_, enough_in_a_row};
    const auto drawn = random.below(static_cast<std::uint64_t>(highest_present_));
    return {static_cast<std::int64_t>(drawn) + 1, 1};
}

void ReadBack::none_left() {
    if (stage_ == Stage::walking) {
        end_walk();
    } else {
        end_sample();
    }
}

void ReadBack::present(std::int64_t number, bool by_look) {
    if (stage_ == Stage::sampling) return end_sample();
    next_below_ = std::min(next_below_, number);
    if (by_look) return;
    highest_present_ = std::max(highest_present_, number);
    if (++in_a_row_ >= enough_in_a_row) end_walk();
}

void ReadBack::missing(std::int64_t number) {
    if (stage_ == Stage::sampling) return end_sample();
    next_below_ = std::min(next_below_, number);
    in_a_row_ = 0;
}

void ReadBack::end_walk() {
    has_looked_ = true;
    stage_ = samples_left_ > 0 && highest_present_ > 0 ? Stage::sampling : Stage::over;
}

void ReadBack::end_sample() {
    if (--samples_left_ <= 0) stage_ = Stage::over;
}

}  // namespace nightferry::sync
